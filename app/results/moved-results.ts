import type { Analysis, ThermometerResult } from './analysis.ts'

/** How far a thermometer's result at a temperature moved from one analysis to another. */
export interface MovedPoint {
  readonly celsius: number
  /** What the second would make of the thermometer less what the first does, mK. */
  readonly differenceMk: number
  /** Of the difference, k of either: both uncertainties together. */
  readonly expandedMk: number
  readonly agrees: boolean
}

export interface MovedResult {
  readonly thermometer: string
  readonly name: string
  readonly serial: string
  /** Empty where the two have no temperature in common. */
  readonly points: readonly MovedPoint[]
}

const STEPS = 4

/** Temperatures that both fits reach: evenly over what they share. */
function shared(a: ThermometerResult, b: ThermometerResult): number[] {
  const ends = (of: ThermometerResult) => of.band.map(({ celsius }) => celsius)
  const low = Math.max(Math.min(...ends(a)), Math.min(...ends(b)))
  const high = Math.min(Math.max(...ends(a)), Math.max(...ends(b)))
  if (!(high >= low)) return []
  if (high === low) return [low]
  return Array.from({ length: STEPS + 1 }, (_, i) => low + ((high - low) * i) / STEPS)
}

/**
 * What became of each thermometer's result from one analysis to another: the temperature that a signal is read as, at
 * temperatures both reach, against the uncertainties of both.
 *
 *   d = [s_1(t) - s_2(t)] / (ds_1/dt);  U = sqrt(U_1^2 + U_2^2)
 *
 * Symbols: s signal by the fits. What both share (reference, resistor) is in both U, so that U errs on the wide side. Common
 * practice, no source. Thermometers are the same where their register ids are; the largest change in units of U comes first.
 */
export function movedResults(first: Analysis, second: Analysis): MovedResult[] {
  const found = first.thermometers.flatMap((a): MovedResult[] => {
    const { id, name, serial } = a.record.thermometer
    const b = second.thermometers.find((other) => other.record.thermometer.id === id)
    const [fa, fb] = [a.fit, b?.fit]
    if (!b || !fa || !fb) return []
    const points = shared(a, b).map((celsius): MovedPoint => {
      const { value, dValueDInput } = fa.prepared.toSignal(celsius)
      const differenceMk = ((value - fb.prepared.toSignal(celsius).value) / dValueDInput) * 1e3
      const expandedMk = Math.hypot(fa.atTemperature(celsius).expanded, fb.atTemperature(celsius).expanded)
      return { celsius, differenceMk, expandedMk, agrees: Math.abs(differenceMk) <= expandedMk }
    })
    return [{ thermometer: id, name, serial, points }]
  })
  const worst = ({ points }: MovedResult) =>
    Math.max(0, ...points.map((p) => Math.abs(p.differenceMk) / p.expandedMk))
  return found.toSorted((a, b) => worst(b) - worst(a))
}
