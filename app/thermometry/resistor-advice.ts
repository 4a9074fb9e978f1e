import type { Resistor } from '../records/register.ts'
import { inForce } from '../records/register.ts'
import type { Prepared } from './convert.ts'
import { type ResistorValue, resistorValue } from './resistor.ts'

export interface ResistorQuestion {
  readonly thermometer: Prepared
  readonly lowC: number
  readonly highC: number
  /** Standard uncertainty that the resistor may bring, mK. */
  readonly wantedMk: number
  readonly dateIso: string
  readonly currentMa: number
  /** Ratios the bridge measures; common practice without a bridge's own limits: 0.1 to 4. */
  readonly ratios?: readonly [low: number, high: number]
}

export interface ResistorAdvice {
  readonly id: string
  readonly name: string
  readonly serves: boolean
  /** One sentence for each thing that speaks for or against it. */
  readonly reasons: readonly string[]
  readonly lowRatio: number
  readonly highRatio: number
  /** Largest standard uncertainty it brings over the range, mK, in all and by cause; NaN without a calibration. */
  readonly uncertaintyMk: number
  readonly contributionsMk: {
    readonly calibration: number
    readonly drift: number
    readonly temperature: number
  }
}

/** Temperatures at which a range is looked at; the relations are smooth, so a coarse grid finds the worst. */
const GRID = 21
const mk = (value: number) => Number(value.toPrecision(3))

/**
 * Which of the registered resistors serve a thermometer over a range, the best first, with the reasons.
 *
 * The part a resistor brings at a temperature is u(Rs)/Rs R dT/dR; with R(WTP) measured against the same resistor most
 * of it cancels, which is not counted here.
 *
 * Symbols  n = R/Rs ratio, 1; Rs, R in ohm; u in mK; current in mA
 * Source   common practice, no source (ratio between about 0.1 and 4; the current within what the resistor bears)
 * Valid    thermometers that are resistances, a range inside the thermometer's own
 * Throws   ThermometryError 'wrong-quantity' | 'missing-value' where the thermometer has no resistance; 'bad-date'
 */
export function adviseResistor(question: ResistorQuestion, resistors: readonly Resistor[]): ResistorAdvice[] {
  const { thermometer, lowC, highC, wantedMk, currentMa } = question
  const [lowLimit, highLimit] = question.ratios ?? [0.1, 4]
  const grid = Array.from({ length: GRID }, (_, i) => {
    const { value, dValueDInput } = thermometer.toSignal(lowC + ((highC - lowC) * i) / (GRID - 1), {
      quantity: 'resistance',
    })
    return { ohm: value, mkPerRelative: Math.abs(value / dValueDInput) * 1000 }
  })
  const ohms = grid.map(({ ohm }) => ohm)
  const worst = Math.max(...grid.map(({ mkPerRelative }) => mkPerRelative))
  return resistors
    .map((resistor) => advice(resistor))
    .sort(
      (p, q) => Number(q.serves) - Number(p.serves) || (p.uncertaintyMk || 1e9) - (q.uncertaintyMk || 1e9),
    )

  function advice(resistor: Resistor): ResistorAdvice {
    const calibration = inForce(resistor.calibrations, question.dateIso)
    const value: ResistorValue | undefined =
      calibration && resistorValue(calibration, resistor.keptAtC, question.dateIso, resistor.uKeptAtK)
    const ohm = value?.ohm ?? resistor.nominalOhm
    const lowRatio = Math.min(...ohms) / ohm
    const highRatio = Math.max(...ohms) / ohm
    const part = (u: number | undefined) => (value && u !== undefined ? (u / value.ohm) * worst : Number.NaN)
    const uncertaintyMk = part(value?.standardUncertainty)
    const against: string[] = []
    const good: string[] = []
    if (!calibration) against.push('It has no calibration in force on that date.')
    else if (calibration.due !== undefined && calibration.due < question.dateIso) {
      against.push(`Its calibration was due on ${calibration.due}.`)
    }
    const span = `The ratio runs from ${lowRatio.toFixed(3)} to ${highRatio.toFixed(3)}`
    if (lowRatio < lowLimit || highRatio > highLimit)
      against.push(`${span}, beyond ${lowLimit} to ${highLimit}.`)
    else good.push(`${span}, inside ${lowLimit} to ${highLimit}.`)
    if (resistor.maxCurrentMa !== undefined && currentMa > resistor.maxCurrentMa) {
      against.push(`${currentMa} mA is more than the ${resistor.maxCurrentMa} mA it bears.`)
    }
    if (uncertaintyMk > wantedMk) {
      against.push(`It brings ${mk(uncertaintyMk)} mK of standard uncertainty; ${wantedMk} mK are wanted.`)
    } else if (uncertaintyMk <= wantedMk) {
      good.push(
        `It brings ${mk(uncertaintyMk)} mK of standard uncertainty, within the ${wantedMk} mK wanted.`,
      )
    }
    return {
      id: resistor.id,
      name: resistor.name,
      serves: against.length === 0,
      reasons: [...against, ...good],
      lowRatio,
      highRatio,
      uncertaintyMk,
      contributionsMk: {
        calibration: part(value?.contributions.calibration),
        drift: part(value?.contributions.drift),
        temperature: part(value?.contributions.temperature),
      },
    }
  }
}
