import { FIXED_POINTS, fixedPoint, fixedPointTemperature } from '../thermometry/fixed-points.ts'
import { referenceRatio } from '../thermometry/its90-reference.ts'
import figures from './figures/its90-fixed-points.json' with { type: 'json' }
import { publication } from './publication.ts'

export const its90FixedPoints = publication(
  {
    id: 'its90-fixed-points',
    source:
      'The International Temperature Scale of 1990, H. Preston-Thomas, Metrologia 27, 3-10 and 107 (1990), Tables 1 and 2: temperatures, reference ratios, pressure and depth coefficients of the defining fixed points',
    standing: 'Read.',
    notChecked: [
      'The three helium and hydrogen vapour-pressure points of Table 1: they have no single temperature.',
    ],
  },
  (check) => {
    check('the fourteen points of Tables 1 and 2 and no other', (f) => {
      f.same(
        'points',
        FIXED_POINTS.map(({ name }) => name as string).sort(),
        figures.rows.map((row) => row.substance).sort(),
      )
    })
    for (const row of figures.rows) {
      const celsius = row.T90_K - 273.15
      check(`printed figures of ${row.substance}`, (f) => {
        const point = fixedPoint(row.substance)
        f.same('T90', point.kelvin, row.T90_K, 'K')
        f.decimals('t90', point.kelvin - 273.15, row.t90_C, 10, '°C')
        f.same('Wr', point.wr ?? null, row.Wr)
        f.decimals('dT/dp', point.kelvinPerPascal, row['dT_dp_1e-8_K_per_Pa'] * 1e-8, 18, 'K/Pa')
        f.decimals('dT/dl', point.kelvinPerMetre, row['dT_dl_1e-3_K_per_m'] * 1e-3, 14, 'K/m')
        f.same('kind', row.kind.startsWith(point.kind), true)
        if (row.Wr !== null)
          f.near('Wr of the reference function', referenceRatio(celsius), row.Wr, 5.0001e-9)
      })
      check(`${row.substance} under depth and pressure`, (f) => {
        const { name } = fixedPoint(row.substance)
        f.decimals(
          'shift at 0.2 m',
          fixedPointTemperature(name, 0.2) - celsius,
          0.2 * row['dT_dl_1e-3_K_per_m'] * 1e-3,
          12,
          'K',
        )
        // A triple point has the pressure of its own cell.
        const expected = row.kind === 'triple point' ? 0 : 1000 * row['dT_dp_1e-8_K_per_Pa'] * 1e-8
        f.decimals('shift for 1000 Pa', fixedPointTemperature(name, 0, 102_325) - celsius, expected, 12, 'K')
      })
    }
  },
)
