import { at, last as lastOf, needed } from '../base/lists.ts'
import { roundedUncertainty } from '../base/rounding.ts'
import { kindOf } from '../kinds/table.ts'
import type { InstrumentRecord, ThermometerCalibration } from '../records/register.ts'
import type { Analysis } from '../results/analysis.ts'
import type { ChannelRecord } from '../results/analysis-channel.ts'
import type { Block, Cell } from './blocks.ts'
import { type NumberBook, uncertaintyOf } from './numbers.ts'
import { missingLinks, traceLinks } from './traceability.ts'

interface Certificate {
  readonly certificate: string
  readonly laboratory: string
  readonly accreditation?: string | undefined
  readonly date: string
  readonly due?: string | undefined
}

function equipmentRow(what: string, name: string, serial: string, paper: Certificate): string[] {
  const { certificate, laboratory, accreditation, date, due } = paper
  const issued = accreditation ? `${laboratory}, ${accreditation}` : laboratory
  return [what, name, serial || 'none', certificate, issued, date, due ?? 'not set']
}

const instrumentPaper = (record: InstrumentRecord): Certificate => ({
  certificate: record.certificate ?? 'none recorded',
  laboratory: record.laboratory ?? 'not recorded',
  accreditation: record.accreditation,
  date: record.calibrated ?? 'not recorded',
  due: record.due,
})

const BESIDE_WORDS = { bath: 'Bath', environment: 'Room conditions', scanner: 'Channel scanner' } as const

/** Instruments that served without measuring a thermometer: the bath that was set, scanners on the way of a channel, the room's sensor. */
function instrumentsBeside({ decisions }: Analysis): string[][] {
  const { bench, register } = decisions.setup
  const scanners = new Set(bench.channels.flatMap(({ route }) => route.map(({ scanner }) => scanner)))
  const served = {
    bath: (id: string) => id === bench.bath?.instrument,
    scanner: (id: string) => scanners.has(id),
    environment: () => true,
  }
  return (['bath', 'scanner', 'environment'] as const).flatMap((role) =>
    bench.instruments.flatMap(({ id, register: entry }) => {
      const record = register.instruments.find((r) => r.id === (entry ?? id))
      if (record?.role !== role || !served[role](id)) return []
      return [equipmentRow(BESIDE_WORDS[role], record.name, record.serial, instrumentPaper(record))]
    }),
  )
}

function equipmentRows(analysis: Analysis, records: readonly ChannelRecord[]): string[][] {
  const rows: string[][] = []
  const done = new Set<string>()
  const once = (id: string, row: () => string[]) => {
    if (done.has(id)) return
    done.add(id)
    rows.push(row())
  }
  for (const { channel, thermometer, calibration } of records) {
    if (channel.role === 'under-test' || !calibration) continue
    const use = channel.role === 'reference' ? 'Reference thermometer' : 'Check thermometer'
    once(`t ${thermometer.id}`, () => equipmentRow(use, thermometer.name, thermometer.serial, calibration))
  }
  for (const { resistor } of records) {
    if (!resistor) continue
    const { record, calibration } = resistor
    once(`r ${record.id}`, () => equipmentRow('Reference resistor', record.name, record.serial, calibration))
  }
  for (const { instrument } of records) {
    if (!instrument) continue
    const use = instrument.role === 'ratio-bridge' ? 'Ratio bridge' : 'Meter'
    once(`i ${instrument.id}`, () =>
      equipmentRow(use, instrument.name, instrument.serial, instrumentPaper(instrument)),
    )
  }
  return [...rows, ...instrumentsBeside(analysis)]
}

/** Nothing in a comparison is certain to less than this, mK. */
const LEAST_MK = 0.01

/** What a thermometer's certificate states of its uncertainty, in words. */
function statedWords({ uncertainty, lowC, highC }: ThermometerCalibration): string {
  const range = `valid from ${Number(lowC.toFixed(2))} °C to ${Number(highC.toFixed(2))} °C`
  if (!uncertainty) return `states no uncertainty; ${range}`
  const points = uncertainty.points.toSorted((a, b) => a.celsius - b.celsius)
  const one = ({ celsius, expandedMk }: (typeof points)[number]) =>
    `${expandedMk < LEAST_MK ? `below ${LEAST_MK}` : roundedUncertainty(expandedMk)} mK at ${Number(celsius.toFixed(2))} °C`
  const [first, last] = [at(points, 0), lastOf(points)]
  const stated = points.length === 1 ? `= ${one(first)}` : `from ${one(first)} to ${one(last)}`
  return `U ${stated} (k = ${uncertainty.k}), ${range}`
}

/** The values through which the results lead to the SI, as they stood on the day. */
function valuesTable(analysis: Analysis, records: readonly ChannelRecord[], book: NumberBook): Block[] {
  const { reference, date } = analysis
  const { calibration, wtp } = reference.record
  const rows: Cell[][] = []
  const entered = (key: string, name: string, ohm: number, u: number, from: string) => {
    const cell = book.add(key, { name, value: ohm, unit: 'Ω', expanded: 2 * u, k: 2 })
    rows.push([name, cell, uncertaintyOf(key), from])
  }
  const measured = reference.sessionWtp
  if (measured) {
    const u = measured.uRelative * measured.ohm
    const name = 'R(0.01 °C) of the reference thermometer'
    entered('reference.rWtp', name, measured.ohm, u, 'measured in this session')
  } else if (needed(calibration, 'calibration').conversion.kind === 'its90' && wtp) {
    const name = 'R(0.01 °C) of the reference thermometer'
    entered('reference.rWtp', name, Number(wtp.ohm), wtp.uOhm, `register, entry of ${wtp.date}`)
  }
  for (const { record, sessionWtp } of analysis.references.slice(1)) {
    const found = sessionWtp
      ? { ohm: sessionWtp.ohm, u: sessionWtp.uRelative * sessionWtp.ohm, from: 'measured in this session' }
      : record.wtp && {
          ...{ ohm: Number(record.wtp.ohm), u: record.wtp.uOhm },
          from: `register, entry of ${record.wtp.date}`,
        }
    if (!found || record.calibration?.conversion.kind !== 'its90') continue
    const name = `R(0.01 °C) of ${record.thermometer.name}`
    entered(`reference.${record.channel.id}.rWtp`, name, found.ohm, found.u, found.from)
  }
  const done = new Set<string>()
  for (const { resistor } of records) {
    if (!resistor || done.has(resistor.record.id)) continue
    done.add(resistor.record.id)
    const { ohm, standardUncertainty } = resistor.value
    const from = `certificate, brought to ${date} and ${resistor.record.keptAtC} °C`
    entered(`resistor.${resistor.record.id}.ohm`, resistor.record.name, ohm, standardUncertainty, from)
  }
  if (rows.length === 0) return []
  return [
    {
      kind: 'table',
      caption: 'Values in force on the day',
      columns: [
        { head: 'Quantity', align: 'left' },
        { head: 'Value', unit: 'Ω', align: 'decimal' },
        { head: 'U, k = 2', unit: 'Ω', align: 'decimal' },
        { head: 'From', align: 'left' },
      ],
      rows,
    },
  ]
}

/** What was used, each with its certificate: the chain to the SI. */
export function equipmentSection(analysis: Analysis, book: NumberBook): Block[] {
  const { references, thermometers, checks } = analysis
  const records: ChannelRecord[] = [
    ...references.map(({ record }) => record),
    ...thermometers.map((t) => t.record),
    ...checks.map((c) => c.record),
  ]
  const resistances = records.some((r) => r.resistor !== null)
  const voltages = records.some((r) => kindOf(r.thermometer).signal === 'voltage')
  const ways = [
    `temperatures through the calibration of the reference thermometer${references.length > 1 ? 's' : ''} on the ITS-90`,
    ...(resistances ? ['resistances through the reference resistors'] : []),
    ...(voltages ? ['thermal voltages through the calibration of the meter'] : []),
  ]
  const certificates = references.map(
    ({ record }) =>
      `The certificate of ${record.thermometer.name}: ${statedWords(needed(record.calibration, 'calibration'))}.`,
  )
  const gaps = missingLinks(traceLinks(analysis, records))
  return [
    { kind: 'heading', level: 2, text: 'Equipment and metrological traceability' },
    {
      kind: 'table',
      caption: 'Equipment used',
      columns: [
        { head: 'Use', align: 'left' },
        { head: 'Name', align: 'left' },
        { head: 'Serial number', align: 'left' },
        { head: 'Certificate', align: 'left' },
        { head: 'Issued by (accreditation or CMC)', align: 'left' },
        { head: 'Date', align: 'left' },
        { head: 'Due', align: 'left' },
      ],
      rows: equipmentRows(analysis, records),
    },
    {
      kind: 'text',
      text:
        (gaps.length === 0
          ? 'The results are traceable to the International System of Units (SI) through the certificates above: '
          : 'Metrological traceability is not shown in full. The results lead to the International System of Units (SI) by: ') +
        `${ways.join(', ')}. ${certificates.join(' ')}`,
    },
    ...(gaps.length > 0 ? [{ kind: 'list', items: gaps } as const] : []),
    ...valuesTable(analysis, records, book),
  ]
}
