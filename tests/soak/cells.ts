import { type CellConditions, type FixedPointValue, reducePlateau } from '../../app/checks/fixed-point.ts'
import { calibrateByFixedPoints } from '../../app/checks/fixed-point-calibration.ts'
import { type Random, seededRandom } from '../../app/statistics/random.ts'
import { type Prepared, prepare } from '../../app/thermometry/convert.ts'
import { type FixedPointName, fixedPointTemperature } from '../../app/thermometry/fixed-points.ts'

/** Sequences of cells as a laboratory runs them; water between the others, always the same cell. */
export const SEQUENCES = {
  'WTP Sn Zn': ['H2O', 'Sn', 'Zn'],
  'WTP Zn WTP Sn WTP': ['H2O', 'Zn', 'H2O', 'Sn', 'H2O'],
  'WTP Zn WTP Sn WTP In WTP Ga WTP': ['H2O', 'Zn', 'H2O', 'Sn', 'H2O', 'In', 'H2O', 'Ga', 'H2O'],
  'WTP Ga': ['H2O', 'Ga'],
} as const satisfies Record<string, readonly FixedPointName[]>
export type Sequence = keyof typeof SEQUENCES

/** What one standard uncertainty of each cause is. */
const U = {
  cellMk: { H2O: 0.05, Ga: 0.1, In: 0.3, Sn: 0.3, Zn: 0.5 } as Readonly<Record<string, number>>,
  depthM: 0.005,
  selfHeatingMk: 0.05,
  /** As a part of the resistance: the resistor, and the bridge at one ratio. */
  resistor: 2e-7,
  bridge: 5e-8,
  typeAMk: 0.03,
  typeADegrees: 12,
}
const DEPTH_M = 0.15
const HOUR_MS = 3.6e6

/** A thermometer drawn anew for every job, with deviations as good platinum has. */
function drawThermometer(random: Random): Prepared & { rWtp: number } {
  const rWtp = 25.5 * (1 + 1e-3 * random.normal())
  const coefficients = { a: -1.5e-4 + 4e-5 * random.normal(), b: -1e-5 + 4e-6 * random.normal() }
  return { ...prepare({ kind: 'its90', rWtp, subrange: '3.3.2.2', coefficients }), rWtp }
}

interface Job {
  readonly truth: Prepared & { rWtp: number }
  readonly values: readonly FixedPointValue[]
  /** Relative error of every resistance for the resistor. */
  readonly resistor: number
}

/** One job: every cause has its error drawn from just what is stated of it, once for all that share it. */
function draw(sequence: Sequence, random: Random): Job {
  const truth = drawThermometer(random)
  const resistor = U.resistor * random.normal()
  const shared = new Map<FixedPointName, { cellMk: number; depthM: number; bridge: number }>()
  const values = SEQUENCES[sequence].map((name, i) => {
    const own = shared.get(name) ?? {
      cellMk: U.cellMk[name]! * random.normal(),
      depthM: U.depthM * random.normal(),
      bridge: U.bridge * random.normal(),
    }
    shared.set(name, own)
    const at = fixedPointTemperature(name, DEPTH_M + own.depthM)
    const { value, dValueDInput: slope } = truth.toSignal(at)
    const relativeMk = (value / slope) * 1e3
    const errorMk =
      own.cellMk + U.selfHeatingMk * random.normal() + relativeMk * (own.bridge + resistor) + typeA(random)
    const conditions: CellConditions = {
      fixedPoint: name,
      depthM: DEPTH_M,
      uDepthM: U.depthM,
      uCellMk: U.cellMk[name]!,
      uBridgeMk: relativeMk * U.bridge,
      uResistorMk: relativeMk * U.resistor,
    }
    const plateau = {
      ohm: value + slope * errorMk * 1e-3,
      uTypeAMk: spread,
      degreesOfFreedom: U.typeADegrees,
      rangeMk: 0,
    }
    const heating = { mk: 0, uMk: U.selfHeatingMk }
    return { ...reducePlateau(plateau, conditions, heating, slope), utcMs: i * 8 * HOUR_MS }
  })
  return { truth, values, resistor }
}

/** Standard uncertainty that the readings of the last plateau showed: it scatters from one plateau to the next. */
let spread = U.typeAMk

function typeA(random: Random): number {
  let squares = 0
  for (let i = 0; i < U.typeADegrees; i++) squares += random.normal() ** 2
  spread = U.typeAMk * Math.sqrt(squares / U.typeADegrees)
  return U.typeAMk * random.normal()
}

export interface SequenceTally {
  /** Truths within U, in per cent: R(WTP), coefficients, and temperatures over the range. */
  readonly rWtp: number
  readonly coefficients: number
  readonly temperatures: number
  /** Sets of more points than coefficients that were found not to agree, in per cent; null where there are none. */
  readonly refused: number | null
}

const STEPS = 6

/** Jobs with known truth: how often it lies within what is stated. */
export function jobsOf(sequence: Sequence, jobs: number, first: number): SequenceTally {
  const within = { rWtp: 0, coefficients: 0, temperatures: 0 }
  const tries = { rWtp: 0, coefficients: 0, temperatures: 0 }
  let refused = 0
  let judged = 0
  const count = (what: keyof typeof within, holds: boolean) => {
    tries[what]++
    if (holds) within[what]++
  }
  for (let seed = first; seed < first + jobs; seed++) {
    const { truth, values, resistor } = draw(sequence, seededRandom(seed))
    const found = calibrateByFixedPoints(values)
    const exact = exactCoefficients(values, truth)
    for (const { name, value, expanded } of found.coefficients)
      count(name === 'rWtp' ? 'rWtp' : 'coefficients', Math.abs(value - exact[name]!) <= expanded)
    const high = Math.max(...values.map(({ t90C }) => t90C))
    for (let i = 1; i <= STEPS; i++) {
      const celsius = (high * i) / STEPS
      // Measured with the same resistor, whose error is in R(0.01 degC) as well.
      const ohm = truth.toSignal(celsius).value * (1 + resistor)
      const error = found.prepared.toTemperature(ohm).value - celsius
      count('temperatures', Math.abs(error) <= 2 * found.uncertaintyK(celsius))
    }
    if (found.consistency) {
      judged++
      if (!found.consistency.agrees) refused++
    }
  }
  const share = (what: keyof typeof within) => (100 * within[what]) / tries[what]
  return {
    rWtp: share('rWtp'),
    coefficients: share('coefficients'),
    temperatures: share('temperatures'),
    refused: judged > 0 ? (100 * refused) / judged : null,
  }
}

/** What the same cells give where nothing is in error: a subrange of fewer coefficients than the truth has its own. */
function exactCoefficients(values: readonly FixedPointValue[], truth: Prepared & { rWtp: number }) {
  const perfect = values.map((v) => ({ ...v, ohm: truth.toSignal(v.t90C).value }))
  return Object.fromEntries(
    calibrateByFixedPoints(perfect).coefficients.map(({ name, value }) => [name, value]),
  )
}
