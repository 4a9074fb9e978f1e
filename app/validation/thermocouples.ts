import { at, first, last } from '../base/lists.ts'
import type { ThermocoupleType } from '../kinds/conversion.ts'
import { prepare } from '../thermometry/convert.ts'
import { exactToSignal } from '../thermometry/exact.ts'
import { polynomial } from '../thermometry/polynomial.ts'
import {
  seebeckCoefficient,
  thermocoupleApproximateTemperature,
  thermocoupleEmf,
} from '../thermometry/thermocouple.ts'
import { THERMOCOUPLES } from '../thermometry/thermocouple-functions.ts'
import figures from './figures/thermocouple-its90-nist.json' with { type: 'json' }
import { publication } from './publication.ts'

interface Row {
  type: ThermocoupleType
  forward: { t_low_C: number; t_high_C: number; coefficients: number[] }[]
  exponential?: { a0: number; a1: number; a2: number }
  inverse: {
    t_low_C: number
    t_high_C: number
    E_low_mV: number
    E_high_mV: number
    stated_error_low_C: number
    stated_error_high_C: number
    coefficients: number[]
    error_found_C: [number, number]
  }[]
  table: [t: number, mV: number][]
  computed: [t: number, mV: number | string, slope: number][]
}
const types = figures.types as unknown as Row[]

/** Largest errors of a published inverse over its range, °C. */
function errorsOf(type: ThermocoupleType, piece: Row['inverse'][number]): [low: number, high: number] {
  let low = 0
  let high = 0
  for (let i = 0; i <= 2000; i++) {
    const t = piece.t_low_C + ((piece.t_high_C - piece.t_low_C) * i) / 2000
    const guess = polynomial(piece.coefficients, thermocoupleEmf(type, t))
    low = Math.min(low, guess - t)
    high = Math.max(high, guess - t)
  }
  return [low, high]
}

export const thermocouples = publication(
  {
    id: 'thermocouple-its90-nist',
    source:
      'NIST Standard Reference Database 60, ITS-90 Thermocouple Database (NIST Monograph 175, G. W. Burns et al., 1993), types B, E, J, K, N, R, S, T; the same functions as IEC 60584-1',
    standing: figures.source,
    notChecked: [],
  },
  (check) => {
    for (const row of types) {
      const { type } = row
      const { forward, inverse } = THERMOCOUPLES[type]
      check(`type ${type}: published coefficients and limits`, (f) => {
        row.forward.forEach(({ t_low_C, t_high_C, coefficients }, i) => {
          const { lowC, highC, c } = at(forward, i)
          f.same(`piece ${i + 1}, limits`, [lowC, highC], [t_low_C, t_high_C], '°C')
          f.same(`piece ${i + 1}, coefficients`, c, coefficients)
        })
        row.inverse.forEach(({ E_low_mV, E_high_mV, coefficients }, i) => {
          const { lowMv, highMv, d } = at(inverse, i)
          f.same(`inverse ${i + 1}, limits`, [lowMv, highMv], [E_low_mV, E_high_mV], 'mV')
          f.same(`inverse ${i + 1}, coefficients`, d, coefficients)
        })
        f.same('number of pieces', [forward.length, inverse.length], [row.forward.length, row.inverse.length])
        const { exponential: e } = row
        f.same('exponential term', last(forward).exponential ?? null, e ? [e.a0, e.a1, e.a2] : null)
      })
      check(`type ${type}: every printed emf of the table to its last decimal`, (f) => {
        const prepared = prepare({ kind: 'thermocouple', type })
        for (const [t, mV] of row.table) {
          f.near(`emf at ${t} °C`, thermocoupleEmf(type, t), mV, 0.0005 + 1e-9, 'mV')
          if (prepared.toSignal(t).marks.length > 0)
            f.same(`marks at ${t} °C`, prepared.toSignal(t).marks, [])
        }
      })
      check(`type ${type}: computed emf and slope, and the temperature back`, (f) => {
        const prepared = prepare({ kind: 'thermocouple', type })
        for (const [t, mV, slope] of row.computed) {
          // Below -260 degC the terms of the polynomials cancel to 1 in 1e4 or more: some 1e-11 mV, 10 nanokelvin, are left.
          const lost = t < -260 ? 2e-11 : 2e-13 * Math.max(1, Math.abs(Number(mV)))
          f.near(`emf at ${t} °C`, thermocoupleEmf(type, t), Number(mV), lost, 'mV')
          f.relative(`slope at ${t} °C`, seebeckCoefficient(type, t), slope, 2e-9, 'mV/K')
          const { text } = exactToSignal({ kind: 'thermocouple', type }, t)
          f.relative(`emf at ${t} °C, exact path`, Number(text), Number(mV), 3e-14, 'mV')
          const { value, marks } = prepared.toTemperature(Number(mV))
          if (!marks.includes('two-answers')) f.near(`t back at ${t} °C`, value, t, 1e-7, '°C')
        }
      })
      check(`type ${type}: every temperature of the table within half a unit of its last decimal`, (f) => {
        const prepared = prepare({ kind: 'thermocouple', type })
        for (const [t, mV] of row.table) {
          const { value, marks } = prepared.toTemperature(mV)
          if (Number.isNaN(value) || marks.length > 0) continue
          f.near(
            `emf of t from ${mV} mV`,
            thermocoupleEmf(type, value),
            thermocoupleEmf(type, t),
            0.00051,
            'mV',
          )
        }
      })
      check(`type ${type}: the first guess is the published inverse`, (f) => {
        for (const { d, lowMv, highMv } of inverse) {
          const middle = (lowMv + highMv) / 2
          f.same(
            `guess at ${middle} mV`,
            thermocoupleApproximateTemperature(type, middle),
            polynomial(d, middle),
            '°C',
          )
        }
        const below = thermocoupleApproximateTemperature(type, first(inverse).lowMv - 0.1)
        f.same('no guess outside', Number.isNaN(below), true)
      })
      check(`type ${type}: the published inverse errs as much as the publication says`, (f) => {
        for (const piece of row.inverse) {
          const [low, high] = errorsOf(type, piece)
          const range = `${piece.t_low_C} to ${piece.t_high_C} °C`
          // The stated errors are rounded to the digits they are printed with.
          const unit = Math.abs(piece.stated_error_low_C) < 0.01 ? 5e-4 : 5e-3
          f.decimals(`${range}: least error, computed`, low, piece.error_found_C[0], 4, '°C')
          f.decimals(`${range}: largest error, computed`, high, piece.error_found_C[1], 4, '°C')
          f.atMost(`${range}: least error`, low, unit - piece.stated_error_low_C, '°C')
          f.atMost(`${range}: largest error`, high, unit + piece.stated_error_high_C, '°C')
        }
      })
    }
    check('type B has two answers for the printed -0.001 mV, and says so', (f) => {
      const prepared = prepare({ kind: 'thermocouple', type: 'B' })
      const { value, marks, message } = prepared.toTemperature(-0.001)
      f.same('marks', marks, ['two-answers'])
      f.between('the upper of them', value, 37, 42, '°C')
      f.same('names the lower of them', message?.includes('4.55') ?? false, true)
      f.same('marks at 0.001 mV', prepared.toTemperature(0.001).marks, [])
      f.same('marks below its least emf', prepared.toTemperature(-0.0026).marks, ['outside-range'])
    })
  },
)
