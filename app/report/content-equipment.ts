import type { Analysis } from '../comparison/analysis.ts'
import type { ChannelRecord } from '../comparison/analysis-channel.ts'
import type { Block } from './blocks.ts'
import type { NumberBook } from './numbers.ts'

function equipmentRow(
  what: string,
  name: string,
  serial: string,
  certificate: string,
  laboratory: string,
  date: string,
  due: string | undefined,
): string[] {
  return [what, name, serial || 'none', certificate, laboratory, date, due ?? 'not set']
}

/** What was used, each with its certificate: the chain to the SI. */
export function equipmentSection(analysis: Analysis, book: NumberBook): Block[] {
  const { reference, thermometers, checks, date } = analysis
  const records: ChannelRecord[] = [
    reference.record,
    ...thermometers.map((t) => t.record),
    ...checks.map((c) => c.record),
  ]
  const rows: string[][] = []
  const done = new Set<string>()
  const once = (id: string, row: () => string[]) => {
    if (done.has(id)) return
    done.add(id)
    rows.push(row())
  }
  for (const { channel, thermometer, calibration } of records) {
    if (channel.role === 'under-test' || !calibration) continue
    once(`t ${thermometer.id}`, () =>
      equipmentRow(
        channel.role === 'reference' ? 'Reference thermometer' : 'Check thermometer',
        thermometer.name,
        thermometer.serial,
        calibration.certificate,
        calibration.laboratory,
        calibration.date,
        calibration.due,
      ),
    )
  }
  for (const { resistor } of records) {
    if (!resistor) continue
    once(`r ${resistor.record.id}`, () =>
      equipmentRow(
        'Reference resistor',
        resistor.record.name,
        resistor.record.serial,
        resistor.calibration.certificate,
        resistor.calibration.laboratory,
        resistor.calibration.date,
        resistor.calibration.due,
      ),
    )
    book.add(`resistor.${resistor.record.id}.ohm`, {
      name: `${resistor.record.name} on ${date}`,
      value: resistor.value.ohm,
      unit: 'Ω',
      expanded: 2 * resistor.value.standardUncertainty,
      k: 2,
    })
  }
  for (const { instrument } of records) {
    if (!instrument) continue
    once(`i ${instrument.id}`, () =>
      equipmentRow(
        'Ratio bridge or meter',
        instrument.name,
        instrument.serial,
        instrument.certificate ?? 'own check',
        instrument.certificate ? 'not recorded' : 'own laboratory',
        instrument.calibrated ?? 'not recorded',
        instrument.due,
      ),
    )
  }
  const { calibration, wtp } = reference.record
  const rWtp = reference.sessionWtp
  const blocks: Block[] = [
    { kind: 'heading', level: 2, text: 'Equipment and metrological traceability' },
    {
      kind: 'table',
      caption: 'Equipment used',
      columns: [
        { head: 'Use', align: 'left' },
        { head: 'Name', align: 'left' },
        { head: 'Serial number', align: 'left' },
        { head: 'Certificate', align: 'left' },
        { head: 'Issued by', align: 'left' },
        { head: 'Date', align: 'left' },
        { head: 'Due', align: 'left' },
      ],
      rows,
    },
    {
      kind: 'text',
      text:
        'The results are traceable to the International System of Units (SI) through the certificates above: temperatures through the ' +
        'calibration of the reference thermometer on the ITS-90, resistances through the reference resistors.',
    },
  ]
  const used = rWtp
    ? book.add('reference.rWtp', {
        name: 'R(0.01 °C) of the reference thermometer, measured in this session',
        value: rWtp.ohm,
        unit: 'Ω',
        expanded: 2 * rWtp.uRelative * rWtp.ohm,
        k: 2,
      })
    : calibration!.conversion.kind === 'its90' && wtp
      ? book.add('reference.rWtp', {
          name: `R(0.01 °C) of the reference thermometer, entry of ${wtp.date}`,
          value: Number(wtp.ohm),
          unit: 'Ω',
          expanded: 2 * wtp.uOhm,
          k: 2,
        })
      : null
  if (used) {
    blocks.push({
      kind: 'facts',
      rows: [
        {
          label: 'R(0.01 °C) of the reference',
          cells: [
            used,
            '±',
            { key: 'reference.rWtp', show: 'uncertainty' },
            rWtp ? 'Ω (k = 2), measured in this session' : `Ω (k = 2), from the register, ${wtp!.date}`,
          ],
        },
      ],
    })
  }
  return blocks
}
