import type { AnalysisOptions } from '../results/analysis.ts'
import type { Block, ReportNumber } from './blocks.ts'
import type { MethodsCompared } from './content-methods.ts'
import type { PlotData } from './plots/plot.ts'

/** Choices of layout; none of them changes a number. */
export interface ReportOptions {
  readonly decimalSign: '.' | ','
  /** Stability of the reference around each point; left out where the readings are not at hand. */
  readonly settling?: Extract<PlotData, { type: 'settling' }>
}

export interface ReportItem {
  readonly channel: string
  readonly description: string
  readonly maker: string
  readonly model: string
  readonly serial: string
  readonly id: string
}

/** Everything a report says, as data: what results.json holds, what HTML, PDF and DCC print, what `prove` compares. */
export interface ReportContent {
  readonly schema: 'stillpoint-report/1'
  readonly status: 'draft' | 'signed'
  readonly title: string
  readonly number: string
  readonly version: number
  readonly replaces: { readonly number: string; readonly version: number; readonly why: string } | null
  readonly session: string
  readonly laboratory: {
    readonly name: string
    readonly address: readonly string[]
    readonly country: string
    readonly logo: string | null
    readonly accreditation: string | null
  }
  readonly customer: { readonly name: string; readonly address: readonly string[] } | null
  readonly items: readonly ReportItem[]
  readonly dates: {
    readonly received: string | null
    readonly from: string
    readonly to: string
    readonly issued: string | null
  }
  readonly operator: string
  readonly authorisedBy: string | null
  readonly program: { readonly name: string; readonly version: string }
  readonly coverageProbability: number
  /** All choices that can change a number: with them and the session file the report can be computed again. */
  readonly settings: AnalysisOptions
  readonly decimalSign: '.' | ','
  /** JCGM 100 against JCGM 101, for each thermometer whose distributions were drawn. */
  readonly twoMethods: readonly MethodsCompared[]
  readonly numbers: Readonly<Record<string, ReportNumber>>
  readonly blocks: readonly Block[]
}
