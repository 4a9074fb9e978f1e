import type { ControlChart } from '../checks/control-chart.ts'
import { resistorChart, wtpChart } from '../checks/history.ts'
import type { Analysis } from '../results/analysis.ts'
import type { WtpComparison } from '../results/wtp.ts'
import type { Block, Cell } from './blocks.ts'
import type { ReportOptions } from './content-types.ts'
import { type NumberBook, uncertaintyOf } from './numbers.ts'
import { pointLabel } from './words.ts'

/** Panels that fit on a page under one another, three abreast. */
const PANELS_OF_A_FIGURE = 15

/** Fewer entries than this are a list, not a chart. */
const LEAST_OF_A_CHART = 3

/** The reference's R(WTP) and its resistors over the years, this session's own measurement included. */
function chartsOf({ reference, thermometers, date, input }: Analysis): ControlChart[] {
  const { thermometer } = reference.record
  const own = reference.sessionWtp
  const measured = own
    ? [{ date, ohm: String(own.ohm), uOhm: own.uRelative * own.ohm, session: input.info.id }]
    : []
  const wtp = wtpChart({ ...thermometer, wtpHistory: [...thermometer.wtpHistory, ...measured] })
  const resistors = new Map(
    [reference.record, ...thermometers.map((t) => t.record)].flatMap(({ resistor }) =>
      resistor ? [[resistor.record.id, resistor.record] as const] : [],
    ),
  )
  return [wtp, ...[...resistors.values()].map(resistorChart)].filter(
    (chart) => chart.entries.length >= LEAST_OF_A_CHART,
  )
}

function chartFigure(chart: ControlChart): Block {
  return {
    kind: 'figure',
    caption:
      `Control chart: ${chart.name}, ${chart.unit}; bars are expanded uncertainties (k = 2).` +
      (chart.limits ? ' Dashed: warning, dotted: action.' : ' Too few entries for limits.'),
    plot: {
      type: 'chart',
      title: `Control chart, ${chart.name}`,
      unit: chart.unit.replace(' against the first entry', '').replace(' against the first calibration', ''),
      points: chart.entries.map((e) => ({ date: e.date, value: e.value, expanded: 2 * e.u })),
      centre: chart.centre,
      limits: chart.limits,
    },
  }
}

/** What speaks for the reference and the bath: check thermometers, R(WTP), its stability, remarks. */
export function checksSection(
  analysis: Analysis,
  book: NumberBook,
  options: Partial<ReportOptions>,
): Block[] {
  const { checks, referenceWtp, remarks } = analysis
  const blocks: Block[] = [
    { kind: 'heading', level: 2, text: 'Checks of this comparison', breakBefore: true },
  ]
  for (const check of checks) {
    const id = check.record.channel.id
    blocks.push({
      kind: 'table',
      caption: `Check thermometer ${check.record.thermometer.name}: ${check.agrees ? 'agrees with the reference' : 'does not agree with the reference'}`,
      columns: [
        { head: 'Point', align: 'left' },
        { head: 't90', unit: '°C', align: 'decimal' },
        { head: 'Check − reference', unit: 'mK', align: 'decimal' },
        { head: 'U, k = 2', unit: 'mK', align: 'decimal' },
        { head: 'En', align: 'decimal' },
      ],
      rows: check.points.map((p): Cell[] => {
        const key = `${id}.check.${p.point}`
        return [
          pointLabel(p.point),
          p.celsius.toFixed(2),
          book.add(key, {
            name: `Check thermometer less reference, point ${p.point}`,
            value: p.differenceMk,
            unit: 'mK',
            expanded: p.expandedMk,
            k: 2,
          }),
          uncertaintyOf(key),
          p.en.toFixed(2),
        ]
      }),
      note: 'The two agree where En, the difference over its expanded uncertainty, is at most 1.',
    })
  }
  if (referenceWtp) {
    const rows: Cell[][] = referenceWtp.measurements.map((m) => {
      const key = `reference.wtp.${m.point}`
      return [
        m.when,
        book.add(key, {
          name: `Reference, R(0.01 °C) ${m.when}`,
          value: m.ohm,
          unit: 'Ω',
          expanded: 2 * m.uOhm,
          k: 2,
        }),
        uncertaintyOf(key),
      ]
    })
    const since = referenceWtp.sinceLast
    blocks.push({
      kind: 'table',
      caption: 'Reference thermometer at the water triple point, zero current',
      columns: [
        { head: 'When', align: 'left' },
        { head: 'R(0.01 °C)', unit: 'Ω', align: 'decimal' },
        { head: 'U, k = 2 (repeatability and cell)', unit: 'Ω', align: 'decimal' },
      ],
      rows,
      ...(since && {
        note: `Against the entry of ${since.date}: ${since.differenceMk.toFixed(2)} mK ± ${since.expandedMk.toFixed(2)} mK (k = 2)${sinceWords(since)}`,
      }),
    })
  }
  const { settling } = options
  for (let i = 0; settling && i < settling.panels.length; i += PANELS_OF_A_FIGURE) {
    blocks.push({
      kind: 'figure',
      caption:
        i === 0
          ? 'Stability of the reference thermometer: its deviation from the mean of each point, mK, before and while the point was taken (shaded).'
          : 'Stability of the reference thermometer, continued.',
      plot: { ...settling, panels: settling.panels.slice(i, i + PANELS_OF_A_FIGURE) },
    })
  }
  const charts = chartsOf(analysis)
  blocks.push(...charts.map(chartFigure))
  const marked = analysis.input.points.filter((p) => p.marks.length > 0)
  const items = [
    ...remarks,
    ...charts.flatMap((chart) => chart.findings.map((f) => f.words)),
    ...marked.map((p) => `Point ${pointLabel(p.id)} carries the marks: ${p.marks.join(', ')}.`),
    ...(analysis.input.info.note ? [analysis.input.info.note] : []),
  ]
  if (checks.length === 0) items.push('No check thermometer was in the bath.')
  blocks.push({ kind: 'heading', level: 2, text: 'Remarks' })
  blocks.push(items.length > 0 ? { kind: 'list', items } : { kind: 'text', text: 'None.' })
  const said = (text: string, what: readonly { readonly words: string }[]): Block[] =>
    what.length === 0
      ? []
      : [
          { kind: 'heading', level: 2, text },
          { kind: 'list', items: what.map(({ words }) => words) },
        ]
  blocks.push(
    ...said('What speaks against the results', analysis.findings),
    ...said('Checks that were not made', analysis.unmade),
  )
  return blocks
}

function sinceWords({ moved, differenceMk, expandedMk }: NonNullable<WtpComparison['sinceLast']>): string {
  if (moved) return '; it has moved.'
  return Math.abs(differenceMk) > expandedMk
    ? '; beyond U, but not beyond what one night in a hundred shows by itself: it is not taken to have moved.'
    : '; it has not moved.'
}
