import type { KeyValue, SchemaElement } from 'hyparquet'
import { ByteWriter, ParquetWriter } from 'hyparquet-writer'
import type { Reading } from '../../../app/records/reading.ts'
import type { OutFile } from './file.ts'
import type { Shown } from './shown.ts'

const text = (name: string, repetition_type: 'REQUIRED' | 'OPTIONAL' = 'REQUIRED'): SchemaElement => ({
  name,
  type: 'BYTE_ARRAY',
  converted_type: 'UTF8',
  repetition_type,
})

const double = (name: string): SchemaElement => ({ name, type: 'DOUBLE', repetition_type: 'OPTIONAL' })

const SCHEMA: SchemaElement[] = [
  { name: 'root', num_children: 19 },
  { name: 'seq', type: 'INT64', repetition_type: 'REQUIRED' },
  { name: 'utc', type: 'INT64', converted_type: 'TIMESTAMP_MICROS', repetition_type: 'REQUIRED' },
  { name: 'session_time_us', type: 'INT64', repetition_type: 'REQUIRED' },
  text('channel'),
  text('raw'),
  text('value', 'OPTIONAL'),
  double('number'),
  text('unit'),
  double('measuring_current_mA'),
  text('marks'),
  text('channel_name'),
  text('thermometer'),
  text('serial_number'),
  double('resistance_ohm'),
  double('voltage_mV'),
  double('temperature_degC'),
  double('U_of_temperature_mK_k2'),
  double('shown'),
  text('unit_shown'),
]

/** Columns in which hardly a value comes twice: nothing is looked for that a dictionary would save. */
const EACH_ITS_OWN = { encoding: 'PLAIN' } as const

/** Readings as Parquet, a row group per page. `value` is the decimal text, `number` its nearest double. */
export class ParquetExport {
  readonly #bytes = new ByteWriter()
  readonly #writer
  readonly #out: OutFile

  constructor(out: OutFile, about: Record<string, string>) {
    this.#out = out
    const kvMetadata: KeyValue[] = Object.entries(about).map(([key, value]) => ({ key, value }))
    this.#writer = new ParquetWriter({
      writer: this.#bytes,
      schema: SCHEMA,
      kvMetadata,
      createdBy: 'Stillpoint',
    })
  }

  write(readings: readonly Reading[], shownOf: (reading: Reading) => Shown): void {
    const shown = readings.map(shownOf)
    const big = (of: (r: Reading) => number) => BigInt64Array.from(readings, (r) => BigInt(of(r)))
    this.#writer.write({
      columnData: [
        { name: 'seq', data: big((r) => r.seq), ...EACH_ITS_OWN },
        { name: 'utc', data: big((r) => r.utcUs), ...EACH_ITS_OWN },
        { name: 'session_time_us', data: big((r) => r.monoUs), ...EACH_ITS_OWN },
        { name: 'channel', data: readings.map((r) => r.channel) },
        { name: 'raw', data: readings.map((r) => r.raw), ...EACH_ITS_OWN, statistics: false },
        { name: 'value', data: readings.map((r) => r.value), ...EACH_ITS_OWN, statistics: false },
        {
          name: 'number',
          data: readings.map((r) => (r.value === null ? null : Number(r.value))),
          ...EACH_ITS_OWN,
        },
        { name: 'unit', data: readings.map((r) => r.unit) },
        { name: 'measuring_current_mA', data: readings.map((r) => r.currentMa) },
        { name: 'marks', data: readings.map((r) => r.marks.join(' ')) },
        { name: 'channel_name', data: shown.map((s) => s.channelName) },
        { name: 'thermometer', data: shown.map((s) => s.thermometer) },
        { name: 'serial_number', data: shown.map((s) => s.serial) },
        { name: 'resistance_ohm', data: shown.map((s) => s.resistanceOhm) },
        { name: 'voltage_mV', data: shown.map((s) => s.voltageMv) },
        { name: 'temperature_degC', data: shown.map((s) => s.celsius) },
        { name: 'U_of_temperature_mK_k2', data: shown.map((s) => s.expandedMk) },
        { name: 'shown', data: shown.map((s) => s.shown) },
        { name: 'unit_shown', data: shown.map((s) => s.shownUnit) },
      ],
      rowGroupSize: readings.length,
    })
    this.#flush()
  }

  finish(): void {
    this.#writer.finish()
    this.#flush()
  }

  close(): void {
    this.#bytes.index = 0
  }

  #flush(): void {
    this.#out.write(new Uint8Array(this.#bytes.buffer, 0, this.#bytes.index))
    this.#bytes.index = 0
  }
}
