import { needed } from '../base/lists.ts'
import { decimal } from '../thermometry/decimal.ts'
import { exactReferenceRatioHigh, exactReferenceRatioLow } from '../thermometry/exact-its90.ts'
import {
  approximateTemperatureHigh,
  approximateTemperatureLow,
  REFERENCE_A,
  REFERENCE_C,
  referenceRatioHigh,
  referenceRatioLow,
  referenceSlopeHigh,
  referenceSlopeLow,
  referenceTemperatureHigh,
  referenceTemperatureLow,
} from '../thermometry/its90-reference.ts'
import { polynomial } from '../thermometry/polynomial.ts'
import figures from './figures/its90-reference-functions.json' with { type: 'json' }
import type { Figures } from './figures.ts'
import { publication } from './publication.ts'

const table = (equation: string) =>
  needed(
    figures.functions.find((f) => f.equation === equation),
    `table of equation ${equation}`,
  )
/** The figures have twenty digits. */
const TWENTY = 1e-19
const exactly = (f: Figures, what: string, wr: ReturnType<typeof decimal>, figure: string | number) =>
  f.near(what, wr.div(figure).minus(1).toNumber(), 0, TWENTY, 'relative')

export const its90Reference = publication(
  {
    id: 'its90-reference-functions',
    source:
      'The International Temperature Scale of 1990, H. Preston-Thomas, Metrologia 27, 3-10 and 107 (1990), equations (9a), (9b), (10a), (10b) and Table 4',
    standing: figures.source,
    notChecked: [],
  },
  (check) => {
    check('printed constants of Table 4', (f) => {
      f.same('A', REFERENCE_A, table('9a').coefficients)
      f.same('C', REFERENCE_C, table('10a').coefficients)
    })
    check('the written-out functions have these constants', (f) => {
      for (let t = -259; t <= 0; t += 7) {
        const x = (Math.log((t + 273.15) / 273.16) + 1.5) / 1.5
        f.relative(
          `Wr at ${t} °C`,
          referenceRatioLow(t),
          Math.exp(polynomial(table('9a').coefficients, x)),
          1e-14,
        )
      }
      for (let t = 0; t <= 961; t += 7) {
        f.relative(
          `Wr at ${t} °C`,
          referenceRatioHigh(t),
          polynomial(table('10a').coefficients, (t - 481) / 481),
          1e-14,
        )
      }
    })
    check('published inverses have the printed constants of Table 4', (f) => {
      let worstLow = 0
      let worstHigh = 0
      for (let wr = 0.0012; wr < 1; wr += 0.01) {
        const x = (wr ** (1 / 6) - 0.65) / 0.35
        const expected = polynomial(table('9b').coefficients, x) * 273.16 - 273.15
        worstLow = Math.max(worstLow, Math.abs(approximateTemperatureLow(wr) - expected))
      }
      for (let wr = 1; wr < 4.28; wr += 0.05) {
        const expected = polynomial(table('10b').coefficients, (wr - 2.64) / 1.64)
        worstHigh = Math.max(worstHigh, Math.abs(approximateTemperatureHigh(wr) - expected))
      }
      f.atMost('largest difference of (9b)', worstLow, 0.5e-10, '°C')
      f.atMost('largest difference of (10b)', worstHigh, 0.5e-10, '°C')
    })
    check('published inverses stay within the agreement that the scale states', (f) => {
      let low = 0
      let high = 0
      for (let t = -259.3; t < 0; t += 0.1)
        low = Math.max(low, Math.abs(approximateTemperatureLow(referenceRatioLow(t)) - t))
      for (let t = 0; t < 961.7; t += 0.1)
        high = Math.max(high, Math.abs(approximateTemperatureHigh(referenceRatioHigh(t)) - t))
      f.atMost('below 0 °C', low * 1000, 0.1, 'mK')
      // 0.1341 mK is found near 1134 K: the figure of the scale is rounded.
      f.atMost('above 0 °C', high * 1000, 0.135, 'mK')
    })
    for (const row of figures.fixed_points) {
      const below = row.T90_K < 273.16
      const celsius = row.T90_K - 273.15
      check(`${row.substance}: Wr, slope and inverse`, (f) => {
        const wr = (below ? referenceRatioLow : referenceRatioHigh)(celsius)
        // At 13.8033 K half a unit of the last place of T90/degC is 3e-14 K, which is 6e-15 of Wr.
        f.relative('Wr, computed', wr, row.Wr_computed, below ? 2e-14 : 1e-15)
        f.near('Wr, printed', wr, row.Wr_table1, 5e-9)
        const slope = (below ? referenceSlopeLow : referenceSlopeHigh)(celsius)
        f.relative('dWr/dT', slope, row.dWr_dT_per_K, 1e-12, '1/K')
        const back = below ? referenceTemperatureLow : referenceTemperatureHigh
        f.decimals('t90 back', back(Number(row.Wr_computed)), celsius, 11, '°C')
        const inverse = below ? approximateTemperatureLow : approximateTemperatureHigh
        f.decimals(
          'published inverse less T90',
          (inverse(Number(row.Wr_computed)) + 273.15 - row.T90_K) * 1000,
          row.inverse_minus_T_mK,
          6,
          'mK',
        )
      })
    }
    for (const row of figures.grid_low) {
      check(`below 273.16 K: ${row.T90_K} K`, (f) => {
        const celsius = row.T90_K - 273.15
        f.relative('Wr', referenceRatioLow(celsius), row.Wr_computed, 2e-14)
        f.decimals('t90 back', referenceTemperatureLow(Number(row.Wr_computed)), celsius, 11, '°C')
        const inverse = approximateTemperatureLow(Number(row.Wr_computed))
        f.decimals('published inverse less t90', (inverse - celsius) * 1000, row.inverse_minus_T_mK, 6, 'mK')
        exactly(
          f,
          'Wr, exact path',
          exactReferenceRatioLow(decimal(row.T90_K).minus(273.15)),
          row.Wr_computed,
        )
      })
    }
    for (const row of figures.grid_high) {
      check(`above 273.15 K: ${row.t90_C} °C`, (f) => {
        f.relative('Wr', referenceRatioHigh(row.t90_C), row.Wr_computed, 1e-15)
        f.near('t90 back', referenceTemperatureHigh(Number(row.Wr_computed)), row.t90_C, 1e-12, '°C')
        const inverse = approximateTemperatureHigh(Number(row.Wr_computed))
        f.decimals(
          'published inverse less t90',
          (inverse - row.t90_C) * 1000,
          row.inverse_minus_T_mK,
          6,
          'mK',
        )
        exactly(f, 'Wr, exact path', exactReferenceRatioHigh(decimal(row.t90_C)), row.Wr_computed)
      })
    }
    check('the two functions differ by 5.3e-9 at the triple point of water', (f) => {
      const { Wr_low_computed, Wr_high_computed } = figures.water
      exactly(f, 'Wr below', exactReferenceRatioLow(decimal(0.01)), Wr_low_computed)
      exactly(f, 'Wr above', exactReferenceRatioHigh(decimal(0.01)), Wr_high_computed)
      f.decimals('difference', Number(Wr_high_computed) - Number(Wr_low_computed), 5.346e-9, 12)
    })
  },
)
