import { at } from '../base/lists.ts'
import { counted } from '../base/plural.ts'
import { utcDay, utcMinute } from '../base/times.ts'
import { kindOf } from '../kinds/table.ts'
import type { SignerStatements } from '../records/certificate.ts'
import type { SessionItem } from '../records/order.ts'
import type { SessionSetup } from '../records/session.ts'
import type { Analysis } from '../results/analysis.ts'
import type { ChannelRecord } from '../results/analysis-channel.ts'
import type { Block, Cell } from './blocks.ts'
import type { ReportItem } from './content-types.ts'
import type { NumberBook } from './numbers.ts'
import {
  CUSTOMER_WORDS,
  countryLine,
  HAZARD_WORDS,
  ITEMS_WORDS,
  percentOf,
  pointLabel,
  REPRODUCTION_WORDS,
  SAFETY_WORDS,
  STATEMENT_WORDS,
  UNCERTAINTY_WORDS,
} from './words.ts'

export interface ReportFrame {
  readonly number: string
  readonly version: number
  readonly signed: boolean
  readonly replaces: { readonly number: string; readonly version: number; readonly why: string } | null
  readonly decimalSign: '.' | ','
}

const ORDER_WORDS = {
  sequence:
    'The reference and the thermometers under test were read one after another (S X1 … Xn) in each cycle.',
  symmetric:
    'Within a point the channels were read forwards and backwards (S X1 … Xn Xn … X1 S), so that a steady drift of the bath cancels.',
  interleaved:
    'Within a point the reference was read between every two thermometers under test (S X1 S X2 S … Xn S).',
}

/**
 * What a session's whole account is called. Where its items come from orders each has a certificate of its own, and this is the
 * laboratory's record of them all.
 */
export const recordTitle = ({ items = [] }: Pick<SessionSetup, 'items'>): string =>
  items.length > 0 ? 'Calibration record' : 'Calibration certificate'

/** A line for each item of an order, each line once; undefined where the session has none. */
function ofItems({ items = [] }: SessionSetup, line: (item: SessionItem) => string): string[] | undefined {
  return items.length === 0 ? undefined : [...new Set(items.map(line))]
}

function customersOf(setup: SessionSetup): string[] {
  const { job } = setup
  const own = job ? [job.customer, ...job.customerAddress] : ['none named: work for the laboratory itself']
  return ofItems(setup, ({ customer, order }) => `${customer.name}, order ${order}`) ?? own
}

function remarksOf(setup: SessionSetup): string[] {
  const remarks = (setup.items ?? [])
    .filter(({ condition }) => condition.length > 0)
    .map(({ order, condition }) => `order ${order}: ${condition.join('. ')}`)
  // What holds for several items of an order is said once.
  const all = remarks.length > 0 ? [...new Set(remarks)] : (setup.job?.remarks ?? [])
  return all.length > 0 ? all : ['none recorded']
}

/** Title, who, for whom, which items, when: the first page. */
export function headSection(analysis: Analysis, frame: ReportFrame, items: readonly ReportItem[]): Block[] {
  const { decisions, input } = analysis
  const { setup, versions } = decisions
  const { laboratory, job } = setup
  const { info } = input
  const end = info.endedUtcUs ?? input.points.at(-1)?.endUtcUs ?? info.startedUtcUs
  const facts: { label: string; cells: string[] }[] = [
    { label: 'Number', cells: [`${frame.number}, version ${frame.version}`] },
    {
      label: 'Laboratory',
      cells: [laboratory.name || 'not stated', ...laboratory.address, ...countryLine(laboratory.country)],
    },
    {
      label: 'Accreditation',
      cells: [laboratory.accreditation ?? 'none stated: these results are not issued under an accreditation'],
    },
    { label: 'Customer', cells: customersOf(setup) },
    {
      label: 'Place of calibration',
      cells: ['At the laboratory’s permanent premises'],
    },
    {
      label: 'Items received',
      cells: ofItems(setup, ({ order, received }) => `order ${order}: ${received}`) ?? [
        job?.received ?? 'not recorded',
      ],
    },
    { label: 'Condition and remarks on receipt', cells: remarksOf(setup) },
    { label: 'Calibrated', cells: [`${utcMinute(info.startedUtcUs)} to ${utcMinute(end)}`] },
    { label: 'Calibrated by', cells: [info.operator] },
    {
      label: 'Date of issue',
      cells: [decisions.signOff ? utcDay(decisions.signOff.utcUs) : 'not issued: draft'],
    },
    { label: 'Session', cells: [`${info.id}, recorded by ${info.program} ${info.programVersion}`] },
  ]
  const blocks: Block[] = [
    {
      kind: 'heading',
      level: 1,
      text: recordTitle(setup),
    },
  ]
  if (!frame.signed) {
    blocks.push({
      kind: 'text',
      style: 'statement',
      text: 'Draft. No person has authorised these results; they are not a certificate until one has signed them off.',
    })
  }
  const { replaces } = frame
  if (replaces) {
    const before = versions.find((v) => v.version === replaces.version)?.signOff
    const issued = before ? `, issued ${utcDay(before.utcUs)} and authorised by ${before.who}` : ''
    const last = /[.!?]$/.test(replaces.why) ? '' : '.'
    blocks.push({
      kind: 'text',
      style: 'statement',
      text:
        `Amendment. This version replaces ${replaces.number}, version ${replaces.version}${issued}, which is withdrawn. ` +
        `Reason: ${replaces.why}${last}`,
    })
  }
  blocks.push({ kind: 'facts', rows: facts })
  const changes = versions.flatMap(({ version, changes: own }) => own.map((change) => ({ version, change })))
  if (changes.length > 0) {
    blocks.push({
      kind: 'table',
      caption: 'Changes after the readings',
      columns: [
        { head: 'In version', align: 'left' },
        { head: 'Date', align: 'left' },
        { head: 'By', align: 'left' },
        { head: 'What', align: 'left' },
        { head: 'Why', align: 'left' },
      ],
      rows: changes.map(({ version, change }) => [
        version > 1 ? `${version}, replaces ${version - 1}` : '1',
        utcDay(change.utcUs),
        change.who,
        change.what,
        change.why,
      ]),
    })
  }
  blocks.push({
    kind: 'table',
    caption: 'Items calibrated',
    columns: [
      { head: 'Channel', align: 'left' },
      { head: 'Item', align: 'left' },
      { head: 'Kind', align: 'left' },
      { head: 'Maker, model', align: 'left' },
      { head: 'Serial number', align: 'left' },
    ],
    rows: items.map((item, i) => [
      item.channel.toUpperCase(),
      item.description,
      kindOf(at(analysis.thermometers, i).record.thermometer).words,
      [item.maker, item.model].filter(Boolean).join(', ') || 'not known',
      item.serial || 'none',
    ]),
    note: job ? `${ITEMS_WORDS} ${CUSTOMER_WORDS}` : ITEMS_WORDS,
  })
  return blocks
}

/** How the signals were measured: as ratios, resistances or voltages. */
function signalWords(analysis: Analysis): string {
  const { reference, thermometers, checks } = analysis
  const all = [reference.record, ...thermometers.map((t) => t.record), ...checks.map((c) => c.record)]
  const voltages = all.some((r) => kindOf(r.thermometer).signal === 'voltage')
  const ratios = all.some((r) => r.resistor !== null)
  const direct = all.filter((r) => r.resistor === null && kindOf(r.thermometer).signal === 'resistance')
  const which = direct.map((r) => r.channel.id.toUpperCase()).join(', ')
  const parts = [
    ...(ratios ? ['resistances were measured as ratios to a reference resistor'] : []),
    ...(direct.length > 0
      ? [
          ratios
            ? `those of ${which} directly with a meter`
            : 'resistances were measured directly with a meter',
        ]
      : []),
    ...(voltages ? ['thermal voltages were measured with a meter'] : []),
  ]
  const words = parts.join('; ')
  return `${words.charAt(0).toUpperCase()}${words.slice(1)}, and converted with the calibrations listed below. `
}

/** Against what: one reference, or the mean of several. */
const referenceWords = ({ references }: Analysis): string =>
  references.length === 1
    ? 'a reference thermometer'
    : `${references.length} reference thermometers, by the mean of them weighted by their uncertainties,`

/** What the signer stated, each answer under its head; nothing is printed that nobody stated. */
function statementBlocks(statements: SignerStatements | null): Block[] {
  if (!statements) return []
  return [
    {
      kind: 'facts',
      rows: Object.entries(STATEMENT_WORDS).map(([key, label]) => ({
        label,
        cells: [statements[key as keyof SignerStatements] ?? 'none, as the signer states'],
      })),
    },
  ]
}

/** How it was done, and what the results mean. */
export function methodSection(analysis: Analysis, book: NumberBook): Block[] {
  const { decisions, input, options } = analysis
  const { setup, leftOut } = decisions
  const { plan, bench } = setup
  const comparisonPoints = input.points.filter((p) => p.kind === 'comparison')
  const cells = input.points.filter((p) => p.kind === 'wtp-before' || p.kind === 'wtp-after')
  const percent = percentOf(options.coverageProbability)
  const fluid = setup.register.fluids.find((f) => f.id === bench.bath?.fluid)
  const paragraphs = [
    `The thermometers were calibrated by comparison with ${referenceWords(analysis)} in a stirred liquid bath` +
      `${bench.bath ? ` (${bench.bath.name}${fluid ? `, ${fluid.name}` : ''})` : ''} at ${counted(comparisonPoints.length, 'point')}` +
      `${setup.laboratory.procedure ? `, after the laboratory’s procedure ${setup.laboratory.procedure}` : ''}` +
      `${plan ? `, by the plan “${plan.name}”` : ''}. ` +
      signalWords(analysis) +
      'Temperatures are on the ITS-90 (t90).',
    ORDER_WORDS[plan?.order ?? 'symmetric'] +
      ' The reference temperature of each reading is interpolated to the time at which the thermometer under test was read.',
  ]
  if (plan) {
    const { settling } = plan
    paragraphs.push(
      'A point was taken once the bath had settled: over a window of ' +
        `${settling.windowS} s the upper ${Math.round(settling.confidence * 100)} % confidence bound of the drift was at most ` +
        `${settling.driftMkPerMin} mK/min, the standard deviation at most ${settling.spreadMk} mK and the mean within ` +
        `${settling.bandK} K of the setpoint, held for ${settling.holdS} s.`,
    )
  }
  if (cells.length > 0) {
    paragraphs.push(
      `R(0.01 °C) was measured in a water triple point cell ${[...new Set(cells.map((c) => (c.kind === 'wtp-before' ? 'before' : 'after')))].join(' and ')} the comparison.`,
    )
  }
  const blocks: Block[] = [
    { kind: 'heading', level: 2, text: 'Method' },
    ...paragraphs.map((text): Block => ({ kind: 'text', text })),
  ]
  if (leftOut.length > 0) {
    blocks.push({
      kind: 'list',
      items: leftOut.map(
        (l) =>
          `Left out of the fits: point ${pointLabel(l.point)}${l.channel ? `, channel ${l.channel.toUpperCase()}` : ', all channels'}; ` +
          `${l.why} (${l.who}, ${utcDay(l.utcUs)}). Its readings are kept and shown.`,
      ),
    })
  } else {
    blocks.push({ kind: 'text', text: 'No point was left out.' })
  }
  blocks.push(...statementBlocks(decisions.signOff?.statements ?? null))
  book.add('coverage-probability', {
    name: 'Coverage probability',
    value: options.coverageProbability,
    unit: '1',
    roundLike: 0.01,
  })
  blocks.push(
    { kind: 'heading', level: 2, text: 'Uncertainty and decision rule' },
    { kind: 'text', text: UNCERTAINTY_WORDS(percent) },
    {
      kind: 'text',
      text:
        'Errors common to several points (the calibration of the reference, the reference resistor, the places in the bath) are ' +
        'carried through the fit with their correlation; they are not averaged away. An error of a reference resistor shared by both ' +
        'thermometers acts on both with opposite signs, and only the difference counts.',
    },
  )
  blocks.push(...ruleWords(analysis.thermometers).map((text): Block => ({ kind: 'text', text })))
  return blocks
}

/** The decision rules that were agreed; where there are several, each with the items it was agreed for. */
function ruleWords(thermometers: Analysis['thermometers']): string[] {
  const rules = [...new Set(thermometers.flatMap((t) => t.conformity?.rule.words ?? []))]
  return rules.map((words) => {
    const own = thermometers.filter((t) => t.conformity?.rule.words === words)
    const items = own.map(({ record: { thermometer } }) => thermometer.serial || thermometer.name).join(', ')
    return rules.length > 1 ? `Decision rule for ${items}. ${words}` : `Decision rule. ${words}`
  })
}

/** A number of an environment event: as a number, or as the decimal text the sensor sent. */
export function environmentNumber(value: unknown): number | null {
  const number = typeof value === 'string' && value.trim() !== '' ? Number(value) : value
  return typeof number === 'number' && Number.isFinite(number) ? number : null
}

/** Conditions under which the results hold. */
export function conditionsSection(analysis: Analysis, book: NumberBook): Block[] {
  const seen = analysis.input.events.filter((e) => e.kind === 'environment')
  const quantities = [
    { key: 'air-temperature', name: 'Air temperature', unit: '°C', place: 0.1 },
    { key: 'humidity', name: 'Relative humidity', unit: '%', place: 1 },
    { key: 'pressure', name: 'Air pressure', unit: 'hPa', place: 1 },
  ]
  const rows: { label: string; cells: Cell[] }[] = quantities.flatMap(({ key, name, unit, place }) => {
    const values = seen.flatMap((e) => environmentNumber(e.data[key]) ?? [])
    if (values.length === 0) return []
    const bound = (which: string, value: number) =>
      book.add(`conditions.${key}.${which}`, {
        name: `${name}, ${which}`,
        value,
        unit,
        roundLike: place * 10,
      })
    return [
      {
        label: name,
        cells: [bound('lowest', Math.min(...values)), 'to', bound('highest', Math.max(...values)), unit],
      },
    ]
  })
  const items = analysis.thermometers.map((t) => t.record)
  const named = ({ thermometer }: ChannelRecord) => `S/N ${thermometer.serial || thermometer.name}`
  const immersion = items.map((item) =>
    item.channel.immersionMm === undefined
      ? `${named(item)}: not recorded`
      : `${named(item)}: ${item.channel.immersionMm} mm`,
  )
  rows.push({ label: 'Immersion', cells: [immersion.join(', ')] })
  rows.push({
    label: 'Measuring current',
    cells: [
      items
        .map((item) =>
          item.channel.junction ? `${named(item)}: none` : `${named(item)}: ${item.channel.currentMa} mA`,
        )
        .join(', '),
    ],
  })
  return [
    { kind: 'heading', level: 2, text: 'Conditions' },
    ...(seen.length === 0
      ? [{ kind: 'text', text: 'Room conditions were not recorded in this session.' } as const]
      : []),
    { kind: 'facts', rows },
    ...(seen.length > 0
      ? [
          {
            kind: 'text',
            style: 'small',
            text:
              'Lowest and highest of what the environment sensor showed during the session, to its last stated digit; no result was ' +
              'corrected by them.',
          } as const,
        ]
      : []),
  ]
}

/** Who stands for it, cautions, the end. */
export function signSection(analysis: Analysis, frame: ReportFrame): Block[] {
  const { decisions, input } = analysis
  const { signOff, setup } = decisions
  const fluid = setup.register.fluids.find((f) => f.id === setup.bench.bath?.fluid)
  const blocks: Block[] = [
    { kind: 'heading', level: 2, text: 'Authorisation' },
    {
      kind: 'facts',
      rows: [
        { label: 'Calibrated by', cells: [input.info.operator] },
        { label: 'Authorised by', cells: [signOff ? signOff.who : 'nobody yet: draft'] },
        { label: 'Authorised on', cells: [signOff ? utcMinute(signOff.utcUs) : 'not authorised: draft'] },
        ...(signOff?.remark ? [{ label: 'Remark', cells: [signOff.remark] }] : []),
      ],
    },
    { kind: 'text', style: 'small', text: `${ITEMS_WORDS} ${REPRODUCTION_WORDS}` },
  ]
  if (setup.bench.bath) {
    blocks.push({
      kind: 'text',
      style: 'caution',
      text: [SAFETY_WORDS, ...(fluid?.cautions.length ? fluid.cautions : [HAZARD_WORDS])]
        .join(' ')
        .replaceAll('degC', '°C'),
    })
  }
  blocks.push({
    kind: 'text',
    style: 'small',
    text: `End of ${frame.number}, version ${frame.version}.`,
  })
  return blocks
}
