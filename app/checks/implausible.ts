import type { Cell } from '../records/cell.ts'
import type { InstrumentRecord, Resistor, Thermometer } from '../records/register.ts'
import { WTP_C } from '../thermometry/its90-reference.ts'

/**
 * What of a record is hardly ever so, as questions to whoever types it. All bounds: common practice, no source. An empty list
 * means that nothing was asked, not that the record is right.
 */

const between = (value: number | undefined, low: number, high: number): boolean =>
  value === undefined || value === 0 || (value >= low && value <= high)

const ppm = (relative: number): string => `${Number((relative * 1e6).toPrecision(4))} ppm`

export function implausibleResistor({
  name,
  nominalOhm,
  keptAtC,
  uKeptAtK,
  calibrations,
}: Resistor): string[] {
  const words: string[] = []
  if (!between(keptAtC, 10, 40)) words.push(`${name} is kept at ${keptAtC} °C. Is that its enclosure?`)
  if (uKeptAtK > 2) words.push(`Its temperature is known to ${uKeptAtK} K only. Is the unit K?`)
  const last = calibrations.at(-1)
  if (!last) return words
  const apart = Math.abs(Number(last.ohm) / nominalOhm - 1)
  if (apart > 0.005)
    words.push(`${last.ohm} Ω differs by ${ppm(apart)} from ${nominalOhm} Ω. Is a digit misplaced?`)
  if (!between(last.expandedRelative, 1e-9, 1e-4))
    words.push(`The relative expanded uncertainty is ${ppm(last.expandedRelative)}. Is it stated in ppm?`)
  if (Math.abs(last.driftPerYear) > 2e-5)
    words.push(`It drifts by ${ppm(last.driftPerYear)} a year. Is it stated in ppm a year?`)
  if (Math.abs(last.alphaPerK) > 1e-4)
    words.push(`alpha is ${ppm(last.alphaPerK)} per kelvin. Is the power of ten right?`)
  if (!between(last.k, 1, 4)) words.push(`The coverage factor is ${last.k}. It is mostly between 1 and 4.`)
  return words
}

export function implausibleThermometer({
  kind,
  nominalOhm,
  currentMa,
  selfHeatingMk,
  calibrations,
}: Thermometer): string[] {
  const words: string[] = []
  const platinum = kind === 'prt' || kind === 'sprt'
  if (platinum && !between(nominalOhm, 0.2, 2000))
    words.push(`The nominal resistance is ${nominalOhm} Ω. Platinum has mostly 0.25 to 2000 Ω.`)
  if (platinum && !between(currentMa, 0.05, 15))
    words.push(`The measuring current is ${currentMa} mA. Is the unit mA?`)
  if (kind === 'thermistor' && currentMa > 0.2)
    words.push(`A thermistor at ${currentMa} mA heats itself. Is the current in mA, not in µA?`)
  if (!between(selfHeatingMk, 0.01, 100)) words.push(`Self-heating is ${selfHeatingMk} mK. Is the unit mK?`)
  const uncertainty = calibrations.at(-1)?.uncertainty
  if (!uncertainty) return words
  if (!between(uncertainty.k, 1, 4))
    words.push(`The coverage factor is ${uncertainty.k}. It is mostly between 1 and 4.`)
  // At the water triple point the scale itself says what W is: what the coefficients leave there is as good as nothing.
  for (const { celsius, expandedMk } of uncertainty.points)
    if (
      Math.abs(celsius - WTP_C) > 0.05 &&
      !between(expandedMk, kind === 'sprt' ? 0.05 : 0.5, kind === 'sprt' ? 50 : 5000)
    )
      words.push(
        `The expanded uncertainty at ${celsius} °C is ${Number(expandedMk.toPrecision(3))} mK. Is the unit mK?`,
      )
  return words
}

export function implausibleInstrument({ bridge }: InstrumentRecord): string[] {
  if (!bridge) return []
  const words: string[] = []
  for (const [what, value] of [
    ['linearity', bridge.linearityRatio],
    ['resolution', bridge.resolutionRatio],
  ] as const)
    if (!between(value, 1e-10, 1e-4))
      words.push(`The bridge's ${what} is ${ppm(value ?? 0)} of ratio 1. Is it stated in ppm?`)
  return words
}

export function implausibleCell({ name, depthM, uMk }: Cell): string[] {
  const words: string[] = []
  if (!between(depthM, 0.05, 0.5))
    words.push(`${name}: the element is ${depthM} m below the surface. Is the unit m?`)
  if (!between(uMk, 0.005, 20)) words.push(`${name}: its standard uncertainty is ${uMk} mK. Is the unit mK?`)
  return words
}
