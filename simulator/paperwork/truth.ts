import { its90W, referenceRatio, referenceSlope } from '../physics/platinum.ts'
import { type RandomStream, randomStream } from '../physics/randomness.ts'
import type { Curve } from '../physics/sensors.ts'
import type { ThermometerDesign } from '../scenarios/scenario.ts'

/** Stated self-heating is right within this, relative standard uncertainty. */
const U_SELF_HEATING = 0.1

/** Standard uncertainties of the reference's certificate at the fixed points it rests on, K. */
const CERTIFICATE_U = { indiumK: 0.0005, tinK: 0.0007 }
/** Standard uncertainty of one measured R(WTP), as a temperature, K. */
export const U_WTP_K = 0.0001

export const INDIUM_C = 156.5985
export const TIN_C = 231.928

/** What a thermometer truly is, and its true self-heating. */
export interface ThermometerTruth {
  curve: Curve
  selfHeatingKPerW: number
  /** Distance of its position from the reference's, K. */
  offsetK: number
}

export function drawThermometer(
  design: ThermometerDesign,
  uniformityMk: number,
  seed: number,
): ThermometerTruth {
  const stream = randomStream(seed, `truth ${design.id}`)
  const curve = drawCurve(design, stream)
  const statedW = (design.currentMa / 1000) ** 2 * (design.nominalOhm ?? 0)
  const stated = statedW > 0 ? design.selfHeatingMk / 1000 / statedW : 0
  return {
    curve,
    selfHeatingKPerW: stated * (1 + U_SELF_HEATING * stream.normal()),
    // The reference's own position is what the others are compared with.
    offsetK: design.role === 'reference' && !design.apart ? 0 : (uniformityMk / 1000) * stream.normal(),
  }
}

function drawCurve(design: ThermometerDesign, stream: RandomStream): Curve {
  const nominal = design.nominalOhm ?? 0
  switch (design.kind) {
    case 'sprt':
      return {
        kind: 'its90',
        rWtp: nominal * (1 + 1.5e-3 * stream.normal()),
        a: -1.5e-4 + 4e-5 * stream.normal(),
        b: -6e-6 + 4e-6 * stream.normal(),
      }
    case 'prt':
      // About the standard's coefficients (IEC 60751).
      return {
        kind: 'callendar-van-dusen',
        r0: nominal * (1 + 2e-4 * stream.normal()),
        a: 3.9083e-3 * (1 + 4e-4 * stream.normal()),
        b: -5.775e-7 * (1 + 4e-3 * stream.normal()),
        c: -4.183e-12,
      }
    case 'thermistor': {
      const lnNominal = Math.log(nominal * (1 + 5e-3 * stream.normal()))
      const b = 2.35e-4 * (1 + 2e-3 * stream.normal())
      const c = 8.8e-8 * (1 + 1e-2 * stream.normal())
      return {
        kind: 'steinhart-hart',
        coefficients: [1 / 298.15 - b * lnNominal - c * lnNominal ** 3, b, c],
      }
    }
    case 'thermocouple':
      return { kind: 'thermocouple-t', deviation: [0, 4e-5 * stream.normal(), 2e-7 * stream.normal()] }
  }
}

/** A reference's certificate: coefficients drawn about the truth from exactly the stated uncertainties. */
export interface DrawnCertificate {
  a: number
  b: number
  covariance: [[number, number], [number, number]]
  /** Standard uncertainty at a temperature that comes from the coefficients alone, K. */
  uK(celsius: number): number
}

export function drawCertificate(
  curve: Extract<Curve, { kind: 'its90' }>,
  seed: number,
  id: string,
): DrawnCertificate {
  const stream = randomStream(seed, `certificate ${id}`)
  const points = [
    { celsius: INDIUM_C, uK: CERTIFICATE_U.indiumK },
    { celsius: TIN_C, uK: CERTIFICATE_U.tinK },
  ].map(({ celsius, uK }) => {
    const w = its90W({ ...curve }, celsius)
    const uW = uK * referenceSlope(celsius)
    const measured = w + uW * stream.normal()
    return { uW, x: measured - 1, deviation: measured - referenceRatio(celsius) }
  }) as [Fixed, Fixed]
  const [p, q] = points
  const slopeP = p.deviation / p.x
  const slopeQ = q.deviation / q.x
  const b = (slopeQ - slopeP) / (q.x - p.x)
  const a = slopeP - b * p.x
  // deviation / x = a + b x at two points, so a and b are linear in the two measured W.
  const dW = [p.uW * (1 - a - 2 * b * p.x), q.uW * (1 - a - 2 * b * q.x)] as const
  const aOf = [q.x / (p.x * (q.x - p.x)), -p.x / (q.x * (q.x - p.x))] as const
  const bOf = [-1 / (p.x * (q.x - p.x)), 1 / (q.x * (q.x - p.x))] as const
  const sum = (f: readonly [number, number], g: readonly [number, number]) =>
    f[0] * g[0] * dW[0] ** 2 + f[1] * g[1] * dW[1] ** 2
  const covariance: [[number, number], [number, number]] = [
    [sum(aOf, aOf), sum(aOf, bOf)],
    [sum(aOf, bOf), sum(bOf, bOf)],
  ]
  return {
    a,
    b,
    covariance,
    uK(celsius) {
      const x = referenceRatio(celsius) - 1
      const [[aa, ab], [, bb]] = covariance
      const variance = x * x * (aa + 2 * x * ab + x * x * bb)
      return Math.sqrt(variance) / referenceSlope(celsius)
    },
  }
}

interface Fixed {
  uW: number
  x: number
  deviation: number
}
