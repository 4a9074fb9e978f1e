import { at, last, needed } from '../base/lists.ts'
import type { Conversion, Numeral, Quantity } from '../kinds/conversion.ts'
import { type Converted, type Prepared, prepare } from './convert.ts'
import { D, type D as Dec, decimal, decimalPolynomial, decimalText, refine } from './decimal.ts'
import { type ExactRelation, exactIts90 } from './exact-its90.ts'
import { IEC60751_A, IEC60751_B, IEC60751_C, IEC60751_R0 } from './iec60751.ts'
import { defaultPowers } from './thermistor.ts'
import { type ForwardPiece, THERMOCOUPLES } from './thermocouple-functions.ts'

type Of<K extends Conversion['kind']> = Extract<Conversion, { kind: K }>

function exactCallendarVanDusen(conversion: Of<'iec60751'> | Of<'callendar-van-dusen'>): ExactRelation {
  const standard = conversion.kind === 'iec60751'
  const a = conversion.a ?? IEC60751_A
  const b = conversion.b ?? IEC60751_B
  const c = conversion.c ?? (standard ? IEC60751_C : 0)
  const ratio = (t: Dec) => {
    const above = decimalPolynomial([1, a, b], t)
    return t.lt(0) ? above.plus(t.minus(100).times(t.pow(3)).times(c)) : above
  }
  return {
    temperature: (r, start, slope) => refine(start, slope, (t) => ratio(t).minus(r)),
    signalAt: ratio,
  }
}

function exactSteinhartHart(conversion: Of<'steinhart-hart'>): ExactRelation {
  const powers = conversion.powers ?? defaultPowers(conversion.coefficients.length)
  const ascending: Numeral[] = Array.from({ length: Math.max(...powers) + 1 }, () => 0)
  powers.forEach((power, i) => {
    ascending[power] = at(conversion.coefficients, i)
  })
  return {
    temperature: (ohm) => new D(1).div(decimalPolynomial(ascending, D.ln(ohm))).minus(273.15),
    signalAt: (t, start, slope) => {
      const kelvin = t.plus(273.15)
      const reciprocal = new D(1).div(kelvin)
      const reciprocalPerOhm = -1 / (kelvin.toNumber() ** 2 * slope)
      return refine(start, reciprocalPerOhm, (ohm) =>
        decimalPolynomial(ascending, D.ln(ohm)).minus(reciprocal),
      )
    },
  }
}

function exactBeta(conversion: Of<'beta'>): ExactRelation {
  const kelvin0 = decimal(conversion.t0 ?? 25).plus(273.15)
  const reciprocal0 = new D(1).div(kelvin0)
  return {
    temperature: (ohm) =>
      new D(1).div(reciprocal0.plus(D.ln(ohm.div(conversion.r0)).div(conversion.beta))).minus(273.15),
    signalAt: (t) =>
      D.exp(new D(1).div(t.plus(273.15)).minus(reciprocal0).times(conversion.beta)).times(conversion.r0),
  }
}

/** Emf of one piece of a thermocouple's function with forty digits, the calibration's deviation added. */
function pieceEmf(conversion: Of<'thermocouple'>, piece: ForwardPiece, t: Dec): Dec {
  let emf = decimalPolynomial(piece.c, t)
  if (piece.exponential) {
    const [a0, a1, a2] = piece.exponential
    emf = emf.plus(D.exp(t.minus(a2).pow(2).times(a1)).times(a0))
  }
  return conversion.deviation ? emf.plus(decimalPolynomial(conversion.deviation, t)) : emf
}

function exactEmf(conversion: Of<'thermocouple'>, t: Dec): Dec {
  const { forward } = THERMOCOUPLES[conversion.type]
  return pieceEmf(conversion, forward.find(({ highC }) => t.lt(highC)) ?? last(forward), t)
}

/** A result printed with thirty digits may come back this little below the emf of a joint, mV. */
const TEXT_ROUNDING = 1e-28

/** The piece an emf lies on is told by the emf at the joints: a step there must not throw Newton to and fro. */
function exactThermocouple(conversion: Of<'thermocouple'>): ExactRelation {
  const { forward } = THERMOCOUPLES[conversion.type]
  const joints = forward
    .slice(1)
    .map((piece) => pieceEmf(conversion, piece, decimal(piece.lowC)).minus(TEXT_ROUNDING))
  return {
    temperature: (emf, start, slope) => {
      const piece = forward[joints.findIndex((joint) => emf.lt(joint))] ?? last(forward)
      return refine(start, slope, (t) => pieceEmf(conversion, piece, t).minus(emf))
    },
    signalAt: (t) => exactEmf(conversion, t),
  }
}

/** A plain relation with forty digits: y(x), and x(y) from the answer in doubles and dy/dx there. */
export interface ExactPlain {
  y(x: Dec): Dec
  x(y: Dec, start: number, slope: number): Dec
}

function exactTable(conversion: Of<'table'>): ExactPlain {
  const points = conversion.x.map((x, i) => ({ x: decimal(x), y: decimal(at(conversion.y, i)) }))
  points.sort((p, q) => p.x.comparedTo(q.x))
  const segment = (x: number) => {
    let k = 0
    while (k < points.length - 2 && at(points, k + 1).x.lte(x)) k++
    return [at(points, k), at(points, k + 1)] as const
  }
  return {
    y: (x) => {
      const [p, q] = segment(x.toNumber())
      return p.y.plus(x.minus(p.x).times(q.y.minus(p.y)).div(q.x.minus(p.x)))
    },
    x: (y, start) => {
      const [p, q] = segment(start)
      return q.y.eq(p.y) ? p.x : p.x.plus(y.minus(p.y).times(q.x.minus(p.x)).div(q.y.minus(p.y)))
    },
  }
}

/**
 * A polynomial or a table with forty digits.
 *
 * Symbols  x, y in the units of their quantities
 * Source   common practice, no source
 * Valid    as `polynomialRelation` and `tableRelation`
 * Throws   nothing
 */
export function exactPlain(conversion: Of<'polynomial'> | Of<'table'>): ExactPlain {
  if (conversion.kind === 'table') return exactTable(conversion)
  const { coefficients } = conversion
  return {
    y: (x) => decimalPolynomial(coefficients, x),
    x: (y, start, slope) => refine(start, slope, (x) => decimalPolynomial(coefficients, x).minus(y)),
  }
}

function exactRelation(conversion: Conversion): ExactRelation {
  switch (conversion.kind) {
    case 'its90':
      return exactIts90(conversion)
    case 'iec60751':
    case 'callendar-van-dusen':
      return exactCallendarVanDusen(conversion)
    case 'steinhart-hart':
      return exactSteinhartHart(conversion)
    case 'beta':
      return exactBeta(conversion)
    case 'thermocouple':
      return exactThermocouple(conversion)
    case 'polynomial':
    case 'table': {
      const plain = exactPlain(conversion)
      return conversion.from === 'temperature'
        ? { temperature: plain.x, signalAt: plain.y }
        : { temperature: plain.y, signalAt: (t, start, slope) => plain.x(t, start, 1 / slope) }
    }
  }
}

/** Ohm per unit of the relation's own signal, exact. */
function exactScale(conversion: Conversion, quantity: Quantity): Dec {
  if (quantity !== 'resistance') return new D(1)
  if (conversion.kind === 'its90') return decimal(needed(conversion.rWtp, 'R(0.01 °C)'))
  if (conversion.kind === 'iec60751') return decimal(conversion.r0 ?? IEC60751_R0)
  return conversion.kind === 'callendar-van-dusen' ? decimal(conversion.r0) : new D(1)
}

export interface ExactOptions {
  readonly quantity?: Quantity
  readonly referenceJunction?: Numeral
}

/** The answer in doubles with its marks, and the same value as text with thirty good digits. */
export interface Exactly extends Converted {
  /** Absent where there is no answer. */
  readonly text?: string
}

function junctionEmf(conversion: Conversion, options: ExactOptions): Dec {
  if (conversion.kind !== 'thermocouple') return new D(0)
  const t90 = decimal(options.referenceJunction ?? conversion.referenceJunction ?? 0)
  return t90.isZero() ? new D(0) : exactEmf(conversion, t90).minus(conversion.deviation?.[0] ?? 0)
}

function inDoubles(prepared: Prepared, options: ExactOptions) {
  const quantity = options.quantity ?? (prepared.signal === 'any' ? 'voltage' : prepared.signal)
  return {
    quantity,
    options: {
      quantity,
      ...(options.referenceJunction !== undefined && {
        referenceJunction: Number(options.referenceJunction),
      }),
    },
  }
}

function answer(converted: Converted, exact: Dec): Exactly {
  return exact.isFinite() ? { ...converted, value: exact.toNumber(), text: decimalText(exact) } : converted
}

/**
 * Temperature of a signal with thirty good digits.
 *
 * The answer in doubles gives the marks, the branch and the start; the decimal path gives the digits.
 *
 * Symbols  value, signal in 1, ohm or mV, number or decimal text; result in degC
 * Source   the source of each kind's own function
 * Valid    as `prepare`
 * Throws   as `prepare`
 */
export function exactToTemperature(
  conversion: Conversion,
  value: Numeral,
  options: ExactOptions = {},
  prepared: Prepared = prepare(conversion),
): Exactly {
  const { quantity, options: plain } = inDoubles(prepared, options)
  const converted = prepared.toTemperature(Number(value), plain)
  const scale = exactScale(conversion, quantity)
  const signal = decimal(value).div(scale).plus(junctionEmf(conversion, options))
  const slope = 1 / (converted.dValueDInput * scale.toNumber())
  return answer(converted, exactRelation(conversion).temperature(signal, converted.value, slope))
}

/**
 * Signal at a temperature with thirty good digits.
 *
 * Symbols  t90 in degC, number or decimal text; result in 1, ohm or mV
 * Source   the source of each kind's own function
 * Valid    as `prepare`
 * Throws   as `prepare`
 */
export function exactToSignal(
  conversion: Conversion,
  t90: Numeral,
  options: ExactOptions = {},
  prepared: Prepared = prepare(conversion),
): Exactly {
  const { quantity, options: plain } = inDoubles(prepared, options)
  const converted = prepared.toSignal(Number(t90), plain)
  const scale = exactScale(conversion, quantity)
  const junction = junctionEmf(conversion, options)
  const start = converted.value / scale.toNumber() + junction.toNumber()
  const slope = converted.dValueDInput / scale.toNumber()
  if (!Number.isFinite(converted.value)) return converted
  const signal = exactRelation(conversion).signalAt(decimal(t90), start, slope)
  return answer(converted, signal.minus(junction).times(scale))
}
