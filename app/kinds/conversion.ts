/**
 * How a sensor's signal becomes a temperature, as it is kept in the register, in a session file and in a request.
 * Coefficients may be numbers or decimal text: text keeps every digit of a certificate for the exact path.
 */
import { z } from 'zod'

const decimalPattern = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,4})?$/

/** A number, or the decimal text of one, kept as it was written. */
export const Numeral = z.union([z.number(), z.string().trim().regex(decimalPattern)], {
  error: 'a finite number, or the decimal text of one, is wanted',
})
export type Numeral = z.infer<typeof Numeral>

const positive = (numeral: typeof Numeral, what: string) =>
  numeral.refine((value) => Number(value) > 0, `${what} must be greater than zero`)

/** What a signal or a result may be: ratio (1), resistance (ohm), voltage (mV) or temperature (degC or K). */
export const Quantity = z.enum(['ratio', 'resistance', 'voltage', 'temperature'])
export type Quantity = z.infer<typeof Quantity>

/** Correlations may pass 1 by this much in printed figures. */
const ROUNDING = 0.02

function isCovariance(matrix: readonly (readonly number[])[]): boolean {
  return matrix.every((row, i) =>
    row.every((value, j) => {
      const most = Math.sqrt(matrix[i]![i]! * (matrix[j]?.[j] ?? Number.NaN))
      const other = matrix[j]?.[i] ?? Number.NaN
      const asymmetry = Math.abs(value - other)
      return Math.abs(value) <= most * (1 + ROUNDING) && asymmetry <= most * ROUNDING
    }),
  )
}

/** Covariance of coefficients: `names` gives the order of rows and columns of the symmetric `matrix`. */
export const Covariance = z
  .strictObject({ names: z.array(z.string()).min(1), matrix: z.array(z.array(z.number())).min(1) })
  .refine(
    ({ names, matrix }) =>
      matrix.length === names.length && matrix.every((row) => row.length === names.length),
    {
      message: 'the covariance matrix must have one row and one column for each name',
    },
  )
  .refine(({ matrix }) => isCovariance(matrix), {
    message:
      'the covariance matrix must be symmetric, without negative variances and without correlations beyond 1: look for a typing error',
  })
export type Covariance = z.infer<typeof Covariance>

/** The range over which a certificate declares a conversion good; in degC unless the kind says otherwise. */
const Range = z
  .tuple([z.number(), z.number()])
  .refine(([low, high]) => low < high, 'a range runs from the lower to the higher value')

export const Its90Coefficients = z.strictObject({
  a: Numeral.optional(),
  b: Numeral.optional(),
  c: Numeral.optional(),
  d: Numeral.optional(),
  c1: Numeral.optional(),
  c2: Numeral.optional(),
  c3: Numeral.optional(),
  c4: Numeral.optional(),
  c5: Numeral.optional(),
})
export type Its90Coefficients = z.infer<typeof Its90Coefficients>

/** The eleven platinum subranges by their section in the text of ITS-90. */
export const Its90Section = z.enum(
  [
    '3.3.1',
    '3.3.1.1',
    '3.3.1.2',
    '3.3.1.3',
    '3.3.2',
    '3.3.2.1',
    '3.3.2.2',
    '3.3.2.3',
    '3.3.2.4',
    '3.3.2.5',
    '3.3.3',
  ],
  {
    error:
      'subrange is one of the sections 3.3.1, 3.3.1.1 to 3.3.1.3, 3.3.2, 3.3.2.1 to 3.3.2.5 and 3.3.3 of ITS-90',
  },
)
export type Its90Section = z.infer<typeof Its90Section>

/** One set of deviation coefficients; `wAluminium` is W(660.323 degC), which the d term needs. */
const its90Set = {
  subrange: Its90Section.optional(),
  coefficients: Its90Coefficients,
  wAluminium: positive(Numeral, 'wAluminium').optional(),
  covariance: Covariance.optional(),
}
export const Its90Set = z.strictObject(its90Set)
export type Its90Set = z.infer<typeof Its90Set>

/** Platinum by ITS-90. `joined` is the set on the other side of the water triple point. */
export const Its90Conversion = z.strictObject({
  kind: z.literal('its90'),
  rWtp: positive(Numeral, 'rWtp').optional(),
  uRWtp: z.number().nonnegative().optional(),
  ...its90Set,
  joined: Its90Set.optional(),
  range: Range.optional(),
})
export type Its90Conversion = z.infer<typeof Its90Conversion>

/** The industrial platinum relation: every coefficient left out is the standard's, and r0 is 100 ohm. */
export const Iec60751Conversion = z.strictObject({
  kind: z.literal('iec60751'),
  r0: positive(Numeral, 'r0').optional(),
  a: Numeral.optional(),
  b: Numeral.optional(),
  c: Numeral.optional(),
  uR0: z.number().nonnegative().optional(),
  covariance: Covariance.optional(),
  range: Range.optional(),
})
export type Iec60751Conversion = z.infer<typeof Iec60751Conversion>

/**
 * Callendar-Van Dusen with a thermometer's own coefficients; c is 0 when it is left out. Covariance names are r0 (ohm), a, b, c;
 * with r0 among them it holds the uncertainty of R(0 degC) too, and uR0 is not added to it.
 */
export const CallendarVanDusenConversion = z.strictObject({
  kind: z.literal('callendar-van-dusen'),
  r0: positive(Numeral, 'r0'),
  a: Numeral,
  b: Numeral,
  c: Numeral.optional(),
  uR0: z.number().nonnegative().optional(),
  covariance: Covariance.optional(),
  range: Range.optional(),
})
export type CallendarVanDusenConversion = z.infer<typeof CallendarVanDusenConversion>

/**
 * 1/T = sum of coefficients[k] (ln R)^powers[k], T in kelvin, R in ohm.
 * Powers left out: three coefficients mean 0, 1, 3; any other number n means 0 .. n-1.
 * Covariance names are the powers as text: "0", "1", "3".
 */
export const SteinhartHartConversion = z
  .strictObject({
    kind: z.literal('steinhart-hart'),
    coefficients: z.array(Numeral).min(2),
    powers: z.array(z.int().min(0).max(8)).optional(),
    covariance: Covariance.optional(),
    range: Range.optional(),
  })
  .refine(({ coefficients, powers }) => powers === undefined || powers.length === coefficients.length, {
    message: 'powers must name one power of ln R for each coefficient',
    path: ['powers'],
  })
  .refine(({ powers }) => powers === undefined || new Set(powers).size === powers.length, {
    message: 'a power of ln R may be named once only',
    path: ['powers'],
  })
export type SteinhartHartConversion = z.infer<typeof SteinhartHartConversion>

/** R = r0 exp(beta (1/T - 1/T0)); r0 in ohm at t0 in degC (25 when left out), beta in kelvin. */
export const BetaConversion = z.strictObject({
  kind: z.literal('beta'),
  r0: positive(Numeral, 'r0'),
  t0: Numeral.refine((value) => Number(value) > -273.15, 't0 must be above absolute zero').optional(),
  beta: Numeral.refine((value) => Number(value) !== 0, 'beta must not be zero'),
  covariance: Covariance.optional(),
  range: Range.optional(),
})
export type BetaConversion = z.infer<typeof BetaConversion>

export const ThermocoupleType = z.enum(['B', 'E', 'J', 'K', 'N', 'R', 'S', 'T'], {
  error: 'type is one of B, E, J, K, N, R, S, T',
})
export type ThermocoupleType = z.infer<typeof ThermocoupleType>

/**
 * E(t) - E(reference junction) in mV, E being the type's reference function plus the calibration's `deviation`,
 * a polynomial in t (ascending powers of degC, giving mV). The reference junction is at 0 degC when left out.
 */
export const ThermocoupleConversion = z.strictObject({
  kind: z.literal('thermocouple'),
  type: ThermocoupleType,
  referenceJunction: Numeral.optional(),
  uReferenceJunction: z.number().nonnegative().optional(),
  deviation: z.array(Numeral).min(1).optional(),
  covariance: Covariance.optional(),
  range: Range.optional(),
})
export type ThermocoupleConversion = z.infer<typeof ThermocoupleConversion>

/**
 * y = sum of coefficients[i] x^i. x is a signal and y a temperature in degC unless `from` and `to` say otherwise;
 * `range` is in the unit of x. Covariance names are the powers as text.
 */
export const PolynomialConversion = z.strictObject({
  kind: z.literal('polynomial'),
  coefficients: z.array(Numeral).min(2),
  from: Quantity.optional(),
  to: Quantity.optional(),
  covariance: Covariance.optional(),
  range: Range.optional(),
})
export type PolynomialConversion = z.infer<typeof PolynomialConversion>

/** Straight lines between the points (x, y); x rises or falls throughout. x and y as for a polynomial. */
export const TableConversion = z
  .strictObject({
    kind: z.literal('table'),
    x: z.array(Numeral).min(2),
    y: z.array(Numeral).min(2),
    from: Quantity.optional(),
    to: Quantity.optional(),
  })
  .refine(({ x, y }) => x.length === y.length, { message: 'x and y must have the same number of values' })
  .refine(
    ({ x }) => {
      const steps = x.slice(1).map((value, i) => Number(value) - Number(x[i]))
      return steps.every((step) => step > 0) || steps.every((step) => step < 0)
    },
    { message: 'x must rise throughout or fall throughout', path: ['x'] },
  )
export type TableConversion = z.infer<typeof TableConversion>

export const Conversion = z.discriminatedUnion('kind', [
  Its90Conversion,
  Iec60751Conversion,
  CallendarVanDusenConversion,
  SteinhartHartConversion,
  BetaConversion,
  ThermocoupleConversion,
  PolynomialConversion,
  TableConversion,
])
export type Conversion = z.infer<typeof Conversion>
