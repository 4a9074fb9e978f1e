import { first, last, needed } from '../../base/lists.ts'
import { toPlace } from '../../base/rounding.ts'
import { wishFor } from '../../records/session.ts'
import type { Analysis, ThermometerResult } from '../../results/analysis.ts'
import type { Block, Cell, Column } from '../blocks.ts'
import { environmentNumber } from '../content-admin.ts'
import { pointBudgetTable } from '../content-budget.ts'
import { coverageOf, type NumberBook, uncertaintyOf } from '../numbers.ts'
import { coefficientName, deviationEquation, pointLabel, wordsOfModel } from '../words.ts'
import { hasBothSignals, statedPoints, stepOf, tableOf, unitOfSignal } from './item-numbers.ts'
import { joined, type MessageKey, type Speaker, type Tell } from './speaker.ts'

const CONDITIONS = [
  { key: 'air-temperature', unit: '°C', decimals: 1 },
  { key: 'humidity', unit: '%', decimals: 0 },
  { key: 'pressure', unit: 'hPa', decimals: 0 },
] as const

/** Lowest and highest of a room condition during a session; null where none was recorded. */
export function conditionSpan(analysis: Analysis, key: string): readonly [number, number] | null {
  const values = analysis.input.events
    .filter((e) => e.kind === 'environment')
    .flatMap((e) => environmentNumber(e.data[key]) ?? [])
  return values.length === 0 ? null : [Math.min(...values), Math.max(...values)]
}

/** How it was done and under which conditions. */
export function methodBlocks(say: Speaker, analysis: Analysis, result: ThermometerResult): Block[] {
  const { setup } = analysis.decisions
  const { channel } = result.record
  const fluid = setup.register.fluids.find((f) => f.id === setup.bench.bath?.fluid)?.name ?? 'none'
  const rows = CONDITIONS.flatMap(({ key, unit, decimals }) => {
    const span = conditionSpan(analysis, key)
    if (!span) return []
    const [low, high] = span
    const shown = { low: toPlace(low, -decimals), high: toPlace(high, -decimals) }
    const cells = [say.line('condition.span', { ...shown, unit })]
    return [{ label: say.line(`condition.${key}`), cells }]
  })
  const immersion = channel.immersionMm === undefined ? say.line('not-recorded') : `${channel.immersionMm} mm`
  return [
    { kind: 'heading', level: 2, text: joined(say.told('method')) },
    say.text('method.comparison', { fluid, points: statedPoints(result).length }),
    say.text(`method.order.${setup.plan?.order ?? 'symmetric'}`),
    ...(result.points.some((p) => p.pair.cell) ? [say.text('method.cell')] : []),
    ...(rows.length === 0 ? [say.text('condition.none')] : []),
    {
      kind: 'facts',
      rows: [
        ...rows,
        { label: say.line('immersion'), cells: [immersion] },
        ...(result.signalUnit === 'ohm'
          ? [{ label: say.line('current'), cells: [`${channel.currentMa} mA`] }]
          : []),
      ],
    },
  ]
}

/** The points: temperature, signals, deviation, U and k, and what the class says where one was asked for. */
function resultsTable(say: Speaker, result: ThermometerResult, book: NumberBook): Block[] {
  const both = hasBothSignals(result)
  const unit = unitOfSignal(result)
  const { currentMa } = result.record.channel
  const points = statedPoints(result)
  const has = (what: string) => points.some((_, i) => book.entries[`point.${i + 1}.${what}`])
  const { conformity } = result
  const signal: MessageKey =
    unit === 'mV' ? 'column.voltage' : both ? 'column.resistance.zero' : 'column.resistance'
  const columns: Column[] = [
    { head: say.line('column.t90'), unit: '°C', align: 'decimal' },
    ...(both
      ? [
          {
            head: say.line('column.resistance.at', { current: String(currentMa) }),
            unit,
            align: 'decimal' as const,
          },
        ]
      : []),
    { head: say.line(signal), unit, align: 'decimal' },
    ...(has('ratio') ? [{ head: say.line('column.ratio'), align: 'decimal' as const }] : []),
    ...(has('deviation')
      ? [{ head: say.line('column.deviation'), unit: 'mK', align: 'decimal' as const }]
      : []),
    { head: 'U', unit: 'mK', align: 'decimal' },
    { head: 'U', unit, align: 'decimal' },
    { head: 'k', align: 'decimal' },
    ...(conformity
      ? [
          { head: say.line('column.tolerance'), unit: 'mK', align: 'decimal' as const },
          { head: say.line('column.statement'), align: 'left' as const },
        ]
      : []),
  ]
  const rows = points.map((point, i): Cell[] => {
    const at = (what: string) => `point.${i + 1}.${what}`
    const value = (what: string): Cell => ({ key: at(what), show: 'value' })
    const judged = conformity?.points.find((c) => c.point === point.pair.point)
    return [
      value('t90'),
      ...(both ? [value('measured')] : []),
      value('signal'),
      ...(has('ratio') ? [value('ratio')] : []),
      ...(has('deviation') ? [value('deviation')] : []),
      uncertaintyOf(at('u')),
      uncertaintyOf(at('signal')),
      coverageOf(at('u')),
      ...(conformity
        ? judged
          ? [value('tolerance'), say.line(`verdict.${judged.verdict}`)]
          : ['', '']
        : []),
    ]
  })
  return [{ kind: 'table', caption: '', columns, rows }, ...resultNotes(say, result, both, has('deviation'))]
}

function resultNotes(say: Speaker, result: ThermometerResult, both: boolean, deviation: boolean): Block[] {
  const { thermometer, channel } = result.record
  const out = statedPoints(result).filter((p) => !p.included)
  const notes: [MessageKey, Record<string, string | number>?][] = [
    ...(result.signalUnit === 'mV' ? [['results.voltage'] as [MessageKey]] : []),
    ...(both ? [['results.zero'] as [MessageKey]] : []),
    ...(!both && result.signalUnit === 'ohm'
      ? [
          ['results.at-current', { current: String(channel.currentMa) }] as [
            MessageKey,
            Record<string, string>,
          ],
        ]
      : []),
    ...(deviation && thermometer.kind === 'prt'
      ? [['results.deviation.prt', { zero: both ? 'yes' : 'no' }] as [MessageKey, Record<string, string>]]
      : []),
    ...(deviation && thermometer.kind === 'thermocouple'
      ? [
          ['results.deviation.thermocouple', { type: thermometer.thermocoupleType ?? '' }] as [
            MessageKey,
            Record<string, string>,
          ],
        ]
      : []),
    ['results.u'],
    ...(out.length > 0
      ? [
          [
            'results.left-out',
            { points: out.length, which: out.map((p) => pointLabel(p.pair.point)).join(', ') },
          ] as [MessageKey, Record<string, string | number>],
        ]
      : []),
  ]
  return [say.paragraph((tell) => notes.map(([key, values]) => tell(key, values)).join(' '), 'small')]
}

function conformityBlocks(say: Speaker, result: ThermometerResult): Block[] {
  const { conformity, record } = result
  if (!conformity) return []
  const { construction } = record.thermometer
  const statement = (tell: Tell) =>
    tell('conformity.class', {
      class: conformity.class,
      standard: 'IEC 60751:2022',
      element: construction ? tell(`element.${construction}`) : '',
      verdict: tell(`verdict.${conformity.verdict}`),
    })
  const rule = conformity.rule.guardFactor === 0 ? 'rule.simple' : 'rule.guarded'
  return [
    { kind: 'heading', level: 2, text: joined(say.told('conformity')) },
    say.paragraph(statement, 'statement'),
    say.text(rule, {}, 'small'),
  ]
}

/** Value of IEC 60751 that a Callendar-Van Dusen fit holds where its points do not determine it; null: none is held. */
export function heldC({ fit }: ThermometerResult): number | null {
  if (fit === null) return null
  const { conversion, coefficients } = fit.fit
  if (conversion.kind !== 'callendar-van-dusen' || coefficients.c !== undefined) return null
  return Number(conversion.c ?? 0)
}

/** Relations without a word of any language. */
const EQUATIONS: Readonly<Record<string, string>> = {
  'callendar-van-dusen':
    'R = R0 (1 + A t + B t²), t ≥ 0 °C; R = R0 [1 + A t + B t² + C (t − 100 °C) t³], t < 0 °C',
  'steinhart-hart': '1/(T/K) = A0 + A1 ln(R/Ω) + A3 [ln(R/Ω)]³',
  thermocouple: 'E(t90)/mV = E_ref(t90)/mV + Σ d(i) (t90/°C)^i',
  polynomial: 't90/°C = Σ c(i) x^i, x = R/Ω, E/mV',
}

/** The relation that was fitted, as an equation in one line. */
export function equationOf({ fit, model }: ThermometerResult): string {
  const { conversion } = needed(fit, 'fit').fit
  return conversion.kind === 'its90'
    ? deviationEquation(conversion.subrange ?? '')
    : (EQUATIONS[model] ?? wordsOfModel(model).equation)
}

/** The range in which the coefficients are valid, as it is printed. */
export const validRange = ({ band }: ThermometerResult): readonly [string, string] => [
  toPlace(first(band).celsius, -2),
  toPlace(last(band).celsius, -2),
]

function coefficientBlocks(say: Speaker, result: ThermometerResult, book: NumberBook): Block[] {
  const { model, coefficients, band } = result
  const rows = coefficients.map(({ name, unit }): Cell[] => {
    const key = `coefficient.${name}`
    return [coefficientName(model, name), { key, show: 'value' }, uncertaintyOf(key), coverageOf(key), unit]
  })
  const held = heldC(result)
  if (held !== null)
    rows.push([
      'C',
      book.add('held.c', { name: 'C', value: held, unit: '1/°C⁴', roundLike: 1e-14 }),
      say.line('coefficients.held'),
      '',
      '1/°C⁴',
    ])
  const [low, high] = validRange(result)
  const largest = band.reduce((most, at) => (at.budget.expanded > most.budget.expanded ? at : most))
  book.size('largest', 'Largest expanded uncertainty of the range', largest.budget.expanded, 'mK')
  const note = {
    equation: equationOf(result),
    low,
    high,
    largest: needed(book.entries.largest, 'largest uncertainty').value,
  }
  const heads = say.inEach((tell) => tell('coefficients', { model: tell(`model.${model}` as MessageKey) }))
  return [
    {
      kind: 'table',
      caption: joined(heads),
      columns: [
        { head: say.line('column.coefficient'), align: 'left' },
        { head: say.line('column.value'), align: 'decimal' },
        { head: 'U', align: 'decimal' },
        { head: 'k', align: 'decimal' },
        { head: say.line('column.unit'), align: 'left' },
      ],
      rows,
    },
    say.paragraph(
      (tell) => [tell('coefficients.note', note), tell('coefficients.covariance')].join(' '),
      'small',
    ),
  ]
}

function interpolationBlocks(say: Speaker, result: ThermometerResult, step: number | null): Block[] {
  if (step === null) return []
  const unit = unitOfSignal(result)
  const rows = tableOf(result, step).map((celsius): Cell[] => {
    const key = `table.${celsius}`
    return [
      String(celsius),
      { key: `${key}.signal`, show: 'value' },
      uncertaintyOf(`${key}.u`),
      coverageOf(`${key}.u`),
    ]
  })
  return [
    {
      kind: 'table',
      caption: joined(say.told('table')),
      columns: [
        { head: say.line('column.t90'), unit: '°C', align: 'decimal' },
        { head: say.line(unit === 'mV' ? 'column.voltage' : 'column.resistance'), unit, align: 'decimal' },
        { head: 'U', unit: 'mK', align: 'decimal' },
        { head: 'k', align: 'decimal' },
      ],
      rows,
    },
    say.text('table.note', {}, 'small'),
  ]
}

/** The budgets of the points in the languages of the certificate, where they were asked for. */
function budgetBlocks(
  say: Speaker,
  result: ThermometerResult,
  analysis: Analysis,
  book: NumberBook,
): Block[] {
  if (wishFor(analysis.decisions.setup, result.record.thermometer.id)?.budget !== true) return []
  const components = new Map(result.template.components.map((c) => [c.id, c]))
  const note = say.told('budget.note')
  return pointBudgetTable(result, book, {
    caption: joined(say.told('budget')),
    component: say.line('budget.component'),
    combined: say.line('budget.combined'),
    expanded: say.line('budget.expanded'),
    note: joined(note),
    nameOf: ({ id, name }) =>
      joined(
        say.languages.map((lang) => ({
          lang,
          text: (lang === 'en' ? undefined : components.get(id)?.names?.[lang]) ?? name,
        })),
      ),
    keyOf: (point, part) => `budget.${point}.${part}`,
  })
}

function changeBlocks(say: Speaker, result: ThermometerResult, book: NumberBook): Block[] {
  const { calibration } = result.record
  const shown = statedPoints(result).flatMap((_, i) => (book.entries[`change.${i + 1}`] ? [i + 1] : []))
  if (!calibration || shown.length === 0) return []
  const { certificate, date } = calibration
  return [
    {
      kind: 'table',
      caption: joined(say.told('change', { certificate, date })),
      columns: [
        { head: say.line('column.t90'), unit: '°C', align: 'decimal' },
        { head: say.line('column.change'), unit: 'mK', align: 'decimal' },
        { head: 'U', unit: 'mK', align: 'decimal' },
      ],
      rows: shown.map((i): Cell[] => [
        { key: `point.${i}.t90`, show: 'value' },
        { key: `change.${i}`, show: 'value' },
        uncertaintyOf(`change.${i}`),
      ]),
    },
    say.text('change.note', {}, 'small'),
  ]
}

function wtpBlocks(say: Speaker, result: ThermometerResult, book: NumberBook): Block[] {
  const measurements = result.wtp?.measurements ?? []
  if (measurements.length === 0) return []
  const rows = measurements.map((m, i): Cell[] => {
    const key = `wtp.${i + 1}`
    const cell = book.add(key, {
      name: 'R(0.01 °C)',
      value: m.ohm,
      unit: 'Ω',
      expanded: 2 * m.uOhm,
      k: 2,
    })
    return [say.line(m.when === 'before' ? 'wtp.before' : 'wtp.after'), cell, uncertaintyOf(key)]
  })
  return [
    {
      kind: 'table',
      caption: joined(say.told('wtp.caption')),
      columns: [
        { head: say.line('wtp.when'), align: 'left' },
        { head: 'R(0.01 °C)', unit: 'Ω', align: 'decimal' },
        { head: 'U (k = 2)', unit: 'Ω', align: 'decimal' },
      ],
      rows,
    },
  ]
}

/** Results of one thermometer: points, class, coefficients, table, change since the last certificate. */
export function resultBlocks(
  say: Speaker,
  result: ThermometerResult,
  analysis: Analysis,
  book: NumberBook,
): Block[] {
  const head: Block = { kind: 'heading', level: 2, text: joined(say.told('results')) }
  if (!result.fit) {
    return [head, say.text('results.refused', {}, 'statement'), ...wtpBlocks(say, result, book)]
  }
  return [
    head,
    ...resultsTable(say, result, book),
    ...conformityBlocks(say, result),
    ...coefficientBlocks(say, result, book),
    ...interpolationBlocks(say, result, stepOf(result, analysis)),
    ...budgetBlocks(say, result, analysis, book),
    ...wtpBlocks(say, result, book),
    ...changeBlocks(say, result, book),
  ]
}
