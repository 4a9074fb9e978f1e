import { first } from '../base/lists.ts'
import { freedomText, toPlace } from '../base/rounding.ts'
import type { PointResult, ThermometerResult } from '../results/analysis.ts'
import type { BudgetLine } from '../results/analysis-fit.ts'
import type { TemplateComponent } from '../results/uncertainty-template.ts'
import type { Block, Cell } from './blocks.ts'
import type { NumberBook } from './numbers.ts'
import { BETWEEN_POINTS, pointLabel } from './words.ts'

/** Parts of u² below this print as 0.0 % and are taken together. */
const SMALL_PART = 5e-4

function budgetRows(key: string, lines: readonly BudgetLine[], book: NumberBook, whole: number): Cell[][] {
  const own = lines.filter((line) => line.u > 0)
  const isSmall = (line: BudgetLine) => line.u ** 2 < SMALL_PART * whole ** 2
  const small = own.filter(isSmall)
  const part = (u: number) => ((100 * u * u) / (whole * whole)).toFixed(1)
  const rows = own
    .filter((line) => small.length === 1 || !isSmall(line))
    .map((line): Cell[] => [
      line.name,
      line.kind,
      line.distribution,
      BETWEEN_POINTS[line.correlation],
      book.size(`${key}.${line.component}`, `${line.name}: standard uncertainty`, line.u, 'mK'),
      freedomText(line.degreesOfFreedom),
      part(line.u),
    ])
  if (small.length > 1) {
    const together = Math.hypot(...small.map((line) => line.u))
    const name = `${small.length} smaller components together`
    rows.push([name, '', '', '', book.size(`${key}.smaller`, name, together, 'mK'), '', part(together)])
  }
  return rows
}

const smallNames = (lines: readonly BudgetLine[], whole: number): string => {
  const small = lines.filter((line) => line.u > 0 && line.u ** 2 < SMALL_PART * whole ** 2)
  return small.length > 1
    ? ` Smaller components, each below 0.05 % of u²: ${small.map((line) => line.name).join('; ')}.`
    : ''
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
      caption: `Uncertainty budget of a temperature found with the coefficients, at ${toPlace(pair.referenceC, -1)} °C (the point with the largest U)`,
      columns: [
        { head: 'Component', align: 'left' },
        { head: 'Type', align: 'left' },
        { head: 'Distribution', align: 'left' },
        { head: 'Correlation between points', align: 'left' },
        { head: 'u', unit: 'mK', align: 'decimal' },
        { head: 'ν', align: 'right' },
        { head: 'Part of u²', unit: '%', align: 'decimal' },
      ],
      rows,
      note:
        'ν: degrees of freedom (of the sum by Welch and Satterthwaite). Correlation between points: errors without it are drawn anew at each point and ' +
        'averaged by the fit, one with full correlation moves all points together, and where it decreases with distance errors are alike at near temperatures. Where each component ' +
        `comes from stands in the annex, “${result.template.title}”.${smallNames(curve.lines, curve.u)}`,
    },
    {
      kind: 'figure',
      caption: 'What dominates the budget.',
      plot: {
        type: 'budget',
        title: `Budget of ${result.record.thermometer.name}`,
        lines: curve.lines
          .filter((l) => l.u > 0 && l.u ** 2 >= SMALL_PART * curve.u ** 2)
          .map((l) => ({ name: l.name, uMk: l.u, kind: l.kind })),
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

/** What a table of budgets says beside its numbers, in the language of who reads it, and where it keeps them. */
export interface BudgetWords {
  readonly caption: string
  readonly component: string
  readonly combined: string
  readonly expanded: string
  readonly note: string
  nameOf(component: { readonly id: string; readonly name: string }): string
  keyOf(point: string, part: string): string
}

/** The budgets of the points beside one another, as the record tells them. */
export const pointBudgets = (result: ThermometerResult, book: NumberBook): Block[] =>
  pointBudgetTable(result, book, {
    caption: 'Uncertainty budgets of the points, standard uncertainties in mK',
    component: 'Component',
    combined: 'Combined standard uncertainty',
    expanded: 'Expanded uncertainty U',
    note: 'Components below one hundredth of u² at every point are in the sums and not shown.',
    nameOf: ({ name }) => name,
    keyOf: (point, part) => `${result.record.channel.id}.point.${point}.budget.${part}`,
  })

/** The budgets of the points beside one another: what the reference and the signal bring at each. */
export function pointBudgetTable(result: ThermometerResult, book: NumberBook, words: BudgetWords): Block[] {
  const points = result.points.filter((p) => p.included && !p.pair.cell)
  const every = Math.ceil(points.length / MOST_SIDE_BY_SIDE)
  const shown = points.filter((_, i) => i % every === 0)
  if (shown.length === 0) return []
  const components = first(shown).budget.lines.map((l) => ({ id: l.component, name: l.name }))
  const lineOf = (p: PointResult, component: string) =>
    p.budget.lines.find((l) => l.component === component)?.u ?? 0
  const rows = components
    .filter((c) => shown.some((p) => lineOf(p, c.id) ** 2 > SHOWN_PART * p.budget.u ** 2))
    .map((c): Cell[] => [
      words.nameOf(c),
      ...shown.map((p) =>
        book.size(words.keyOf(p.pair.point, c.id), `${c.name}, point ${p.pair.point}`, lineOf(p, c.id), 'mK'),
      ),
    ])
  const last = (name: string, what: string, of: (p: PointResult) => number): Cell[] => [
    name,
    ...shown.map((p) =>
      book.size(words.keyOf(p.pair.point, what), `${name}, point ${p.pair.point}`, of(p), 'mK'),
    ),
  ]
  return [
    {
      kind: 'table',
      caption: words.caption,
      columns: [
        { head: words.component, align: 'left' },
        ...shown.map((p) => ({
          head: pointLabel(p.pair.point),
          unit: `${toPlace(p.pair.referenceC, -1)} °C`,
          align: 'decimal' as const,
        })),
      ],
      rows: [
        ...rows,
        last(words.combined, 'combined', (p) => p.budget.u),
        last(words.expanded, 'expanded', (p) => p.budget.expanded),
      ],
      note: words.note,
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

/** Where the components of the budgets come from: size, source and how its errors hang together, each once. */
export function sourcesAnnex(results: readonly ThermometerResult[]): Block[] {
  const fitted = results.filter((r) => r.fit !== null)
  const templates = [...new Map(fitted.map((r) => [r.template.id, r.template])).values()]
  if (templates.length === 0) return []
  const rows = new Map<string, { row: string[]; titles: string[] }>()
  for (const template of templates) {
    const lines = fitted
      .filter((r) => r.template.id === template.id)
      .flatMap((r) => r.points.flatMap((p) => p.curve.lines))
    for (const c of template.components) {
      if (!c.enabled || !lines.some((l) => l.component === c.id && l.u > 0)) continue
      const alike =
        c.correlation.kind === 'smooth'
          ? `${BETWEEN_POINTS.smooth}, ${c.correlation.lengthK} K`
          : BETWEEN_POINTS[c.correlation.kind]
      // A size may come from elsewhere than the template says, as from a check of the bridge.
      const own = lines.filter((l) => l.component === c.id && l.u > 0)
      const sources = new Set(own.map((l) => l.source))
      const distributions = new Set(own.map((l) => l.distribution))
      const row = [c.name, c.kind, [...distributions].join('; '), alike, [...sources].join('; ')]
      const key = JSON.stringify(row)
      rows.set(key, { row, titles: [...(rows.get(key)?.titles ?? []), template.title] })
    }
  }
  const several = templates.length > 1
  const forWords = (titles: readonly string[]) =>
    titles.length === templates.length ? 'all' : titles.join('; ')
  return [
    {
      kind: 'heading',
      level: 2,
      text: 'Annex: where the components of the budgets come from',
      breakBefore: true,
    },
    {
      kind: 'table',
      caption: `Budget ${several ? 'templates' : 'template'}: ${templates.map((t) => `“${t.title}”`).join(', ')}`,
      columns: [
        { head: 'Component', align: 'left' },
        { head: 'Type', align: 'left' },
        { head: 'Distribution', align: 'left' },
        { head: 'Correlation between points', align: 'left' },
        { head: 'Size from', align: 'left' },
        ...(several ? [{ head: 'For', align: 'left' as const }] : []),
      ],
      rows: [...rows.values()].map(({ row, titles }): Cell[] => (several ? [...row, forWords(titles)] : row)),
    },
    ...practiceBlocks(fitted),
  ]
}

/** What would put a measured size in place of one that only common practice or a typed figure backs, by a component's origin. */
const REPLACED_BY: Readonly<Partial<Record<TemplateComponent['origin'] | TemplateComponent['id'], string>>> =
  {
    'reference-wtp': 'a comparison of the cell with others',
    'reference-drift': 'R(0.01 °C) of the reference before and after the comparison',
    'self-heating-reference': 'pairs of currents I and √2 I of the reference in the session',
    'self-heating-under-test': 'pairs of currents I and √2 I of the thermometer in the session',
    'bath-uniformity': 'an exchange of places in the session, or a dated survey kept with the bath',
    hysteresis: 'the first temperature again after the hottest point',
    'reference-junction': 'the uncertainty of the junction, stated on the bench for the channel',
    cell: 'a comparison of the cell with others, entered in the budget template',
    immersion: 'a lift by 20 mm at the hottest point',
    interpolation: 'at least two more points than the equation has coefficients',
  }

/** Whether nothing but experience stands behind a size: a check that shows no more has borne it out. */
const isPractice = (source: string) =>
  /common practice|typed on the bench/.test(source) && !/shows no more/.test(source)

/** Components whose size only common practice backs, in one place, each with what would replace it. */
function practiceBlocks(fitted: readonly ThermometerResult[]): Block[] {
  const found = new Map<string, { row: [string, string]; names: string[] }>()
  for (const { record, template, points } of fitted) {
    const lines = points.flatMap((p) => p.curve.lines).filter((l) => l.u > 0 && isPractice(l.source))
    for (const c of template.components) {
      if (!lines.some((l) => l.component === c.id)) continue
      const instead = REPLACED_BY[c.origin] ?? REPLACED_BY[c.id] ?? 'an investigation of the laboratory’s own'
      const key = JSON.stringify([c.name, instead])
      const names = [...(found.get(key)?.names ?? []), record.thermometer.name]
      found.set(key, { row: [c.name, instead], names })
    }
  }
  if (found.size === 0)
    return [
      {
        kind: 'text',
        text: 'No component of these budgets rests on common practice alone.',
      },
    ]
  return [
    {
      kind: 'table',
      caption: 'Components that only common practice or a typed figure backs, without a published source',
      columns: [
        { head: 'Component', align: 'left' },
        { head: 'What would replace it', align: 'left' },
        { head: 'For', align: 'left' },
      ],
      rows: [...found.values()].map(({ row, names }): Cell[] => [
        ...row,
        names.length === fitted.length ? 'all' : names.join('; '),
      ]),
    },
  ]
}
