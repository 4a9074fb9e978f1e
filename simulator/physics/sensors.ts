import type { CallendarVanDusen, Its90Deviation } from './platinum.ts'
import { callendarVanDusenResistance, its90Resistance } from './platinum.ts'

/** What a sensor truly is. Only the lab and its tests know. */
export type Curve =
  | ({ kind: 'its90' } & Its90Deviation)
  | ({ kind: 'callendar-van-dusen' } & CallendarVanDusen)
  | { kind: 'steinhart-hart'; coefficients: readonly [number, number, number] }
  | { kind: 'thermocouple-t'; deviation: readonly number[] }

/** Type T above 0 degC, mV, ascending powers of degC. Source: ITS-90 thermocouple reference functions (NIST Monograph 175). */
const TYPE_T = [
  0, 0.038748106364, 0.3329222788e-4, 0.20618243404e-6, -0.21882256846e-8, 0.10996880928e-10,
  -0.30815758772e-13, 0.4547913529e-16, -0.27512901673e-19,
]
/** The same from -270 to 0 degC. */
const TYPE_T_BELOW = [
  0, 0.038748106364, 0.44194434347e-4, 0.11844323105e-6, 0.20032973554e-7, 0.90138019559e-9,
  0.22651156593e-10, 0.36071154205e-12, 0.38493939883e-14, 0.28213521925e-16, 0.14251594779e-18,
  0.48768662286e-21, 0.1079553927e-23, 0.13945027062e-26, 0.79795153927e-30,
]

function polynomial(coefficients: readonly number[], x: number): number {
  let sum = 0
  for (let i = coefficients.length - 1; i >= 0; i -= 1) sum = sum * x + coefficients[i]!
  return sum
}

/** ln R from 1/T = A + B ln R + C (ln R)^3, by Newton from the beta line. */
function thermistorResistance([A, B, C]: readonly [number, number, number], celsius: number): number {
  const inverse = 1 / (celsius + 273.15)
  let x = (inverse - A) / B
  for (let i = 0; i < 12; i += 1) {
    const step = (A + B * x + C * x * x * x - inverse) / (B + 3 * C * x * x)
    x -= step
    if (Math.abs(step) < 1e-14) break
  }
  return Math.exp(x)
}

/** Resistance in ohm of a resistance sensor; undefined for a thermocouple. */
export function resistanceOf(curve: Curve, celsius: number): number | undefined {
  switch (curve.kind) {
    case 'its90':
      return its90Resistance(curve, celsius)
    case 'callendar-van-dusen':
      return callendarVanDusenResistance(curve, celsius)
    case 'steinhart-hart':
      return thermistorResistance(curve.coefficients, celsius)
    case 'thermocouple-t':
      return undefined
  }
}

/** Thermal voltage in mV between the junction at `celsius` and the reference junction; 0 for a resistor. */
export function voltageOf(curve: Curve, celsius: number, junctionCelsius: number): number {
  if (curve.kind !== 'thermocouple-t') return 0
  const at = (t: number) => polynomial(t < 0 ? TYPE_T_BELOW : TYPE_T, t) + polynomial(curve.deviation, t)
  return at(celsius) - at(junctionCelsius)
}
