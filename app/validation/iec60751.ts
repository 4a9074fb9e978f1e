import { prepare } from '../thermometry/convert.ts'
import { exactToTemperature } from '../thermometry/exact.ts'
import { IEC60751_A, IEC60751_B, IEC60751_C, IEC60751_R0 } from '../thermometry/iec60751.ts'
import { classTolerance, type ToleranceClass, toleranceClass } from '../thermometry/iec60751-classes.ts'
import figures from './figures/iec60751-table.json' with { type: 'json' }
import { publication } from './publication.ts'

const standard = () => prepare({ kind: 'iec60751' })

const within = (name: 'A' | 'B', t: number) => {
  const [low, high] = toleranceClass(name).range['wire-wound']
  return t >= low && t <= high
}

export const iec60751 = publication(
  {
    id: 'iec60751',
    source:
      'IEC 60751 (2008 and 2022 editions): coefficients, Table A.1 and tolerance classes of industrial platinum resistance thermometers; tolerances in ohm as printed in the edition of 1995',
    standing:
      'R to four decimals and the inverse are computed from the coefficients; the standard prints two decimals. Ranges of film elements are from memory.',
    notChecked: ['Classes of bare resistors (W and F): the station judges finished thermometers only.'],
  },
  (check) => {
    check('coefficients of the standard', (f) => {
      const { R0_ohm, A_per_C, B_per_C2, C_per_C4, alpha_per_C_rounded, alpha_per_C_from_A_B } =
        figures.coefficients
      f.same('R0', IEC60751_R0, R0_ohm, 'Ω')
      f.same('A', IEC60751_A, A_per_C, '1/°C')
      f.same('B', IEC60751_B, B_per_C2, '1/°C²')
      f.same('C', IEC60751_C, C_per_C4, '1/°C⁴')
      const alpha = (standard().toSignal(100).value - R0_ohm) / (100 * R0_ohm)
      f.decimals('α', alpha, alpha_per_C_from_A_B, 14, '1/°C')
      f.decimals('α as printed', alpha, alpha_per_C_rounded, 6, '1/°C')
    })
    for (const row of figures.table) {
      check(`table at ${row.t90_C} °C: R, dR/dt and the temperature back`, (f) => {
        const { value, dValueDInput, marks } = standard().toSignal(row.t90_C)
        f.near('R, computed', value, row.R_ohm, 0.5001e-4, 'Ω')
        f.near('R, printed', value, row.R_ohm_2_decimals, 0.5001e-2, 'Ω')
        f.near('dR/dt', dValueDInput, row.dR_dt_ohm_per_K, 0.51e-8, 'Ω/K')
        f.same('marks', marks, [])
        f.near(
          't',
          standard().toTemperature(row.R_ohm).value,
          row.t90_C,
          0.5001e-4 / row.dR_dt_ohm_per_K,
          '°C',
        )
      })
    }
    for (const row of figures.inverse) {
      check(`inverse at ${row.R_ohm} Ω`, (f) => {
        f.near('t', standard().toTemperature(row.R_ohm).value, row.t90_C, 1e-11, '°C')
        f.near(
          't, exact path',
          Number(exactToTemperature({ kind: 'iec60751' }, row.R_ohm).text),
          row.t90_C,
          1e-11,
          '°C',
        )
      })
    }
    for (const row of figures.classes) {
      check(`formula and ranges of class ${row.class}`, (f) => {
        const found = toleranceClass(row.class as ToleranceClass)
        f.same('constant part', found.a, row.a_C, '°C')
        f.same('part of |t|', found.b, row.b)
        f.same('range, wire-wound', found.range['wire-wound'], row.range_wire_wound_C, '°C')
        f.same('range, film', found.range.film, row.range_film_C, '°C')
      })
    }
    for (const row of figures.tolerances_1995) {
      check(`printed tolerances at ${row.t90_C} °C`, (f) => {
        // The 1995 edition has wider ranges (A to 650 degC, B from -200 to 850 degC); the formula is the same.
        const slope = standard().toSignal(row.t90_C).dValueDInput
        for (const [name, kelvin, ohm] of [
          ['A', row.A_C, row.A_ohm],
          ['B', row.B_C, row.B_ohm],
        ] as const) {
          if (kelvin === null || ohm === null) continue
          const { a, b } = toleranceClass(name)
          const tolerance = within(name, row.t90_C)
            ? classTolerance(name, 'wire-wound', row.t90_C)
            : a + b * Math.abs(row.t90_C)
          // Printed with one or two decimals: 3.55 degC stands there as 3.6.
          f.near(`class ${name}`, tolerance, kelvin, 0.05 + 1e-9, '°C')
          f.near(`class ${name}, in ohm`, tolerance * slope, ohm, 0.0092, 'Ω')
        }
      })
    }
  },
)
