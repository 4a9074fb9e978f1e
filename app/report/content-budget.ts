import type { PointResult, ThermometerResult } from '../comparison/analysis.ts'
import type { BudgetLine } from '../comparison/analysis-fit.ts'
import type { Block, Cell } from './blocks.ts'
import type { NumberBook } from './numbers.ts'
import { freedomText } from './rounding.ts'

function budgetRows(key: string, lines: readonly BudgetLine[], book: NumberBook, whole: number): Cell[][] {
  return lines
    .filter((line) => line.u > 0)
    .map((line) => [
      line.name,
      line.kind,
      line.distribution,
      line.correlation,
      book.size(`${key}.${line.component}`, `${line.name}: standard uncertainty`, line.u, 'mK'),
      freedomText(line.degreesOfFreedom),
      `${((100 * line.u * line.u) / (whole * whole)).toFixed(1)}`,
    ])
}

/** The budget of the point that has the largest uncertainty, and what it makes of the curve there. */
export function budgetBlocks(result: ThermometerResult, book: NumberBook): Block[] {
  const inBath = result.points.filter((p) => p.included && !p.pair.cell)
  const worst = inBath.toSorted((a, b) => b.curve.expanded - a.curve.expanded)[0]
  if (!worst) return []
  const { curve, pair } = worst
  const key = `${result.record.channel.id}.budget.${pair.point}`
  const rows = budgetRows(key, curve.lines, book, curve.u)
  rows.push(
    [
      'Combined standard uncertainty',
      '',
      '',
      '',
      book.size(`${key}.combined`, 'Combined standard uncertainty', curve.u, 'mK'),
      freedomText(curve.degreesOfFreedom),
      '100',
    ],
    [
      `Expanded uncertainty, k = ${curve.k.toFixed(2)}`,
      '',
      '',
      '',
      book.size(`${key}.expanded`, 'Expanded uncertainty', curve.expanded, 'mK'),
      '',
      '',
    ],
  )
  return [
    {
      kind: 'table',
      caption: `Uncertainty budget of a temperature found with the coefficients, at ${pair.referenceC.toFixed(1)} °C (the point with the largest U)`,
      columns: [
        { head: 'Component', align: 'left' },
        { head: 'Type', align: 'left' },
        { head: 'Distribution', align: 'left' },
        { head: 'Between points', align: 'left' },
        { head: 'u', unit: 'mK', align: 'decimal' },
        { head: 'ν', align: 'right' },
        { head: 'Part of u²', unit: '%', align: 'decimal' },
      ],
      rows,
      note:
        'ν: degrees of freedom (of the sum by Welch and Satterthwaite). Sources and sizes of the components: budget template ' +
        `"${result.template.title}".`,
    },
    {
      kind: 'figure',
      caption: 'What dominates the budget.',
      plot: {
        type: 'budget',
        title: `Budget of ${result.record.thermometer.name}`,
        lines: curve.lines.filter((l) => l.u > 0).map((l) => ({ name: l.name, uMk: l.u, kind: l.kind })),
      },
    },
  ]
}

/** A component's name in the room a legend has. */
function shortName(name: string): string {
  const short = name.replace('Thermometer under test, ', '').replace('Reference thermometer, ', 'reference, ')
  return short.charAt(0).toUpperCase() + short.slice(1)
}

/** Most temperatures that a table of budgets holds side by side on paper. */
const MOST_SIDE_BY_SIDE = 7

/** A component below this part of u squared at every point is left to the full budget. */
const SHOWN_PART = 0.01

/** The budgets of the points beside one another: what the reference and the signal bring at each. */
export function pointBudgets(result: ThermometerResult, book: NumberBook): Block[] {
  const points = result.points.filter((p) => p.included && !p.pair.cell)
  const every = Math.ceil(points.length / MOST_SIDE_BY_SIDE)
  const shown = points.filter((_, i) => i % every === 0)
  if (shown.length === 0) return []
  const id = result.record.channel.id
  const components = shown[0]!.budget.lines.map((l) => ({ id: l.component, name: l.name }))
  const lineOf = (p: PointResult, component: string) =>
    p.budget.lines.find((l) => l.component === component)?.u ?? 0
  const rows = components
    .filter((c) => shown.some((p) => lineOf(p, c.id) ** 2 > SHOWN_PART * p.budget.u ** 2))
    .map((c): Cell[] => [
      c.name,
      ...shown.map((p) =>
        book.size(
          `${id}.point.${p.pair.point}.budget.${c.id}`,
          `${c.name}, point ${p.pair.point}`,
          lineOf(p, c.id),
          'mK',
        ),
      ),
    ])
  const last = (words: string, what: string, of: (p: PointResult) => number): Cell[] => [
    words,
    ...shown.map((p) =>
      book.size(`${id}.point.${p.pair.point}.budget.${what}`, `${words}, point ${p.pair.point}`, of(p), 'mK'),
    ),
  ]
  return [
    {
      kind: 'table',
      caption: 'Uncertainty budgets of the points, standard uncertainties in mK',
      columns: [
        { head: 'Component', align: 'left' },
        ...shown.map((p) => ({
          head: p.pair.point,
          unit: `${p.pair.referenceC.toFixed(1)} °C`,
          align: 'decimal' as const,
        })),
      ],
      rows: [
        ...rows,
        last('Combined standard uncertainty', 'combined', (p) => p.budget.u),
        last('Expanded uncertainty U', 'expanded', (p) => p.budget.expanded),
      ],
      note: 'Components below one hundredth of u² at every point are in the sums and not shown.',
    },
  ]
}

/** The components that make most of the curve's uncertainty anywhere on the range. */
export function uncertaintyFigure(result: ThermometerResult): Block {
  const names = new Map<string, number>()
  for (const at of result.band) {
    for (const line of at.budget.lines) names.set(line.name, Math.max(names.get(line.name) ?? 0, line.u))
  }
  const leading = [...names].toSorted((a, b) => b[1] - a[1]).slice(0, 5)
  return {
    kind: 'figure',
    caption:
      'Uncertainty of a temperature found with the coefficients: expanded (bold) and its five largest components (standard).',
    plot: {
      type: 'uncertainty',
      title: `Uncertainty over the range, ${result.record.thermometer.name}`,
      celsius: result.band.map((b) => b.celsius),
      expandedMk: result.band.map((b) => b.budget.expanded),
      parts: leading.map(([name]) => ({
        name: shortName(name),
        uMk: result.band.map((b) => b.budget.lines.find((l) => l.name === name)?.u ?? 0),
      })),
    },
  }
}
