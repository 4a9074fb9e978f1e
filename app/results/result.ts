import type { ChannelRecord } from './analysis-channel.ts'
import type { CheckResult } from './analysis-check.ts'
import type { FoundBeside } from './analysis-facts.ts'
import type { Combined, PairFit } from './analysis-fit.ts'
import type { AnalysisInput, AnalysisOptions, Decisions } from './analysis-input.ts'
import type { Pair } from './analysis-pairs.ts'
import type { Conformity } from './conformity.ts'
import type { Finding, Unmade } from './finding.ts'
import type { Revisit } from './hysteresis.ts'
import type { Exchange } from './places.ts'
import type { ReferenceSide } from './reference-side.ts'
import type { MonteCarlo } from './uncertainty-monte-carlo.ts'
import type { BudgetTemplate } from './uncertainty-template.ts'
import type { WtpComparison } from './wtp.ts'

export interface PointResult {
  readonly pair: Pair
  readonly included: boolean
  /** What the thermometer shows with the fitted conversion less the reference, mK. */
  readonly residualMk: number
  readonly leaveOneOutMk: number | null
  readonly budget: Combined
  /** Uncertainty of a temperature found with the fitted conversion here. */
  readonly curve: Combined
}

export interface CoefficientResult {
  readonly name: string
  readonly value: number
  readonly unit: string
  readonly budget: Combined
}

export interface CurvePoint {
  readonly celsius: number
  /** Ohm, or mV for a thermocouple. */
  readonly signal: number
  readonly signalPerK: number
  readonly budget: Combined
}

export interface ThermometerResult {
  readonly record: ChannelRecord
  readonly model: string
  readonly template: BudgetTemplate
  readonly signalUnit: 'ohm' | 'mV'
  readonly refusal: string | null
  readonly fit: PairFit | null
  readonly coefficients: readonly CoefficientResult[]
  readonly points: readonly PointResult[]
  /** From the lowest to the highest point, at the chosen step. */
  readonly table: readonly CurvePoint[]
  /** The same range in 40 equal steps, for plots. */
  readonly band: readonly CurvePoint[]
  readonly revisits: readonly Revisit[]
  /** What was found out beside its points; null where there was no fit. */
  readonly beside: (FoundBeside & { readonly bothWays: boolean }) | null
  readonly conformity: Conformity | null
  readonly monteCarlo: MonteCarlo | null
  readonly wtp: WtpComparison | null
  readonly selfHeating: 'zero-current' | 'at-current'
  readonly remarks: readonly string[]
}

export interface Analysis {
  readonly input: AnalysisInput
  readonly options: AnalysisOptions
  readonly decisions: Decisions
  readonly date: string
  /** The first of the references: what the report tells of one. */
  readonly reference: ReferenceSide
  readonly references: readonly ReferenceSide[]
  readonly referenceWtp: WtpComparison | null
  readonly thermometers: readonly ThermometerResult[]
  /** What exchanges of places told of the bath. */
  readonly exchanges: readonly Exchange[]
  readonly checks: readonly CheckResult[]
  /** What speaks against the results; sign-off asks about each. */
  readonly findings: readonly Finding[]
  /** Guided checks that were not made; sign-off asks about them. */
  readonly unmade: readonly Unmade[]
  readonly remarks: readonly string[]
}
