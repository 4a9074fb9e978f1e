import { needed } from '../base/lists.ts'
import { FIXED_POINTS, fixedPoint } from '../thermometry/fixed-points.ts'
import { ACCEPTANCE } from '../thermometry/its90-calibration.ts'
import { SUBRANGES, subrange } from '../thermometry/its90-subranges.ts'
import figures from './figures/its90-subranges.json' with { type: 'json' }
import { publication } from './publication.ts'

const WATER = 'H2O TP'
const plainName = (printed: string) =>
  printed
    .replace(/ (TP|FP|MP)$/, '')
    .replace(/ vapour point near ([\d.]+) K/, (_, kelvin) => ` near ${Number(kelvin)} K`)

export const its90Subranges = publication(
  {
    id: 'its90-subranges',
    source:
      'The International Temperature Scale of 1990, H. Preston-Thomas, Metrologia 27, 3-10 and 107 (1990), Table 5: the eleven platinum subranges',
    standing:
      'Read; the limits of acceptance are from memory of section 3.3, and that they lie on the passing side of Table 1 is checked with them.',
    notChecked: [],
  },
  (check) => {
    check('the eleven subranges of Table 5', (f) => {
      f.same(
        'sections',
        SUBRANGES.map(({ section }) => section),
        figures.rows.map(({ section }) => section),
      )
    })
    for (const row of figures.rows) {
      check(`limits, coefficients and fixed points of ${row.section}`, (f) => {
        const range = subrange(row.section)
        f.same('lower limit', range.lowC, row.t_low_C, '°C')
        f.same('upper limit', range.highC, row.t_high_C, '°C')
        f.decimals('lower limit', range.lowC + 273.15, row.T_low_K, 10, 'K')
        f.decimals('upper limit', range.highC + 273.15, row.T_high_K, 10, 'K')
        f.same('coefficients', range.coefficients, row.free_coefficients)
        f.same('n', range.n, row.n ?? 0)
        const points = row.fixed_points.filter((printed) => printed !== WATER).map(plainName)
        f.same('fixed points', [...range.fixedPoints].sort(), points.sort())
        f.same('as many points as coefficients', range.fixedPoints.length, range.coefficients.length)
      })
    }
    check('subranges end at fixed points, at 273.15 K or at 273.16 K', (f) => {
      const ends = [0, ...FIXED_POINTS.map(({ kelvin }) => Number((kelvin - 273.15).toFixed(4)))]
      for (const { section, lowC, highC } of SUBRANGES)
        f.same(`ends of ${section}`, [ends.includes(lowC), ends.includes(highC)], [true, true])
    })
    check('limits of acceptance, and pure platinum passes them', (f) => {
      f.same('W(Ga)', ACCEPTANCE.gallium, figures.acceptance.W_Ga_min)
      f.same('W(Hg)', ACCEPTANCE.mercury, figures.acceptance.W_Hg_max)
      f.same('W(Ag)', ACCEPTANCE.silver, figures.acceptance.W_Ag_min)
      const wrOf = (symbol: 'Ga' | 'Hg' | 'Ag') => needed(fixedPoint(symbol).wr, `Wr(${symbol})`)
      f.same('Wr(Ga) passes', wrOf('Ga') > ACCEPTANCE.gallium, true)
      f.same('Wr(Hg) passes', wrOf('Hg') < ACCEPTANCE.mercury, true)
      f.same('Wr(Ag) passes', wrOf('Ag') > ACCEPTANCE.silver, true)
    })
  },
)
