import type { ColumnChunk, Encoding, KeyValue, RowGroup, SchemaElement } from 'hyparquet'
import { ByteWriter } from 'hyparquet-writer'
import { writePageHeader } from 'hyparquet-writer/src/datapage.js'
import { writeRleBitPackedHybrid } from 'hyparquet-writer/src/encoding.js'
import { writeMetadata } from 'hyparquet-writer/src/metadata.js'
import { snappyCompress } from 'hyparquet-writer/src/snappy.js'
import type { Reading } from '../../../app/records/reading.ts'
import type { OutFile } from './file.ts'
import {
  type Column,
  type ColumnPage,
  FewTextsColumn,
  NumberColumn,
  TextColumn,
  WholeColumn,
} from './parquet-columns.ts'
import type { Shown } from './shown.ts'

/** Rows of a row group, of which each column is one page. */
const ROWS = 32_768
const MAGIC = 0x31524150
const CODEC = 'SNAPPY'

/** The columns, and what each takes of a reading; a column's memory is used again for each row group. */
function columnsOf(rows: number) {
  const whole = (name: string) => new WholeColumn(name, rows)
  const number = (name: string) => new NumberColumn(name, rows)
  const few = (name: string) => new FewTextsColumn(name, rows)
  return {
    seq: whole('seq'),
    utc: whole('utc'),
    mono: whole('session_time_us'),
    channel: few('channel'),
    raw: new TextColumn('raw', rows, false),
    value: new TextColumn('value', rows, true),
    number: number('number'),
    unit: few('unit'),
    current: number('measuring_current_mA'),
    marks: few('marks'),
    channelName: few('channel_name'),
    thermometer: few('thermometer'),
    serial: few('serial_number'),
    resistance: number('resistance_ohm'),
    voltage: number('voltage_mV'),
    celsius: number('temperature_degC'),
    expanded: number('U_of_temperature_mK_k2'),
    shown: number('shown'),
    unitShown: few('unit_shown'),
  }
}

/**
 * Readings as Parquet. `value` is the decimal text, `number` its nearest double. What is said of pages and of the file is written by
 * the library; the values themselves come from columns in memory, since the library makes objects of each: five million
 * readings are asked for at once.
 */
export class ParquetExport {
  readonly #bytes = new ByteWriter()
  readonly #out: OutFile
  readonly #about: Record<string, string>
  readonly #columns = columnsOf(ROWS)
  readonly #groups: RowGroup[] = []
  #rows = 0
  #written = 0

  constructor(out: OutFile, about: Record<string, string>) {
    this.#out = out
    this.#about = about
    this.#bytes.appendUint32(MAGIC)
  }

  write(readings: readonly Reading[], shownOf: (reading: Reading) => Shown): void {
    const c = this.#columns
    for (const reading of readings) {
      const shown = shownOf(reading)
      c.seq.add(reading.seq)
      c.utc.add(reading.utcUs)
      c.mono.add(reading.monoUs)
      c.channel.add(reading.channel)
      c.raw.add(reading.raw)
      c.value.add(reading.value)
      c.number.add(reading.value === null ? null : Number(reading.value))
      c.unit.add(reading.unit)
      c.current.add(reading.currentMa)
      c.marks.add(reading.marks.length === 0 ? '' : reading.marks.join(' '))
      c.channelName.add(shown.channelName)
      c.thermometer.add(shown.thermometer)
      c.serial.add(shown.serial)
      c.resistance.add(shown.resistanceOhm)
      c.voltage.add(shown.voltageMv)
      c.celsius.add(shown.celsius)
      c.expanded.add(shown.expandedMk)
      c.shown.add(shown.shown)
      c.unitShown.add(shown.shownUnit)
      this.#rows += 1
      if (this.#rows === ROWS) this.#endGroup()
    }
  }

  finish(): void {
    if (this.#rows > 0) this.#endGroup()
    writeMetadata(this.#bytes, {
      version: 2,
      created_by: 'Stillpoint',
      schema: [
        { name: 'root', num_children: Object.keys(this.#columns).length },
        ...Object.values(this.#columns).map(schemaOf),
      ],
      num_rows: BigInt(this.#written),
      row_groups: this.#groups,
      metadata_length: 0,
      key_value_metadata: Object.entries(this.#about).map(([key, value]): KeyValue => ({ key, value })),
    })
    this.#bytes.appendUint32(MAGIC)
    this.#flush()
  }

  close(): void {
    this.#bytes.index = 0
  }

  #endGroup(): void {
    const rows = this.#rows
    const from = this.#bytes.offset
    const columns = Object.values(this.#columns).map((column) => this.#chunk(column, column.take(), rows))
    this.#groups.push({
      columns,
      total_byte_size: columns.reduce(
        (sum, { meta_data }) => sum + (meta_data?.total_uncompressed_size ?? 0n),
        0n,
      ),
      num_rows: BigInt(rows),
      total_compressed_size: BigInt(this.#bytes.offset - from),
    })
    this.#written += rows
    this.#rows = 0
    this.#flush()
  }

  #chunk({ name, type }: Column<never>, page: ColumnPage, rows: number): ColumnChunk {
    const out = this.#bytes
    const from = out.offset
    const { indexes, range } = page
    let size = 0
    const encoding: Encoding = indexes ? 'RLE_DICTIONARY' : 'PLAIN'
    if (indexes) size += this.#dictionary(page)
    const dataFrom = out.offset
    size += this.#page(page, rows, encoding)
    return {
      file_offset: BigInt(from),
      meta_data: {
        type,
        encodings: indexes ? ['PLAIN', 'RLE_DICTIONARY'] : ['PLAIN'],
        path_in_schema: [name],
        codec: CODEC,
        num_values: BigInt(rows),
        total_compressed_size: BigInt(out.offset - from),
        total_uncompressed_size: BigInt(size),
        data_page_offset: BigInt(dataFrom),
        ...(indexes && { dictionary_page_offset: BigInt(from) }),
        statistics: { ...range, null_count: BigInt(page.nulls) },
        encoding_stats: [
          ...(indexes ? [{ page_type: 'DICTIONARY_PAGE', encoding: 'PLAIN', count: 1 } as const] : []),
          { page_type: 'DATA_PAGE_V2', encoding, count: 1 },
        ],
      },
    }
  }

  /** The values that come again and again; returns their size before compression. */
  #dictionary({ values, distinct }: ColumnPage): number {
    const compressed = snappyCompress(values)
    const from = this.#bytes.offset
    writePageHeader(this.#bytes, {
      type: 'DICTIONARY_PAGE',
      uncompressed_page_size: values.length,
      compressed_page_size: compressed.length,
      dictionary_page_header: { num_values: distinct, encoding: 'PLAIN' },
    })
    const header = this.#bytes.offset - from
    this.#append(compressed)
    return header + values.length
  }

  /** One page with all of a row group's values; returns its size before compression. */
  #page({ values, indexes, present, nulls, distinct }: ColumnPage, rows: number, encoding: Encoding): number {
    const levels = new ByteWriter()
    if (present) writeRleBitPackedHybrid(levels, present, 1)
    const body = indexes ? indexBytes(indexes, distinct) : values
    const compressed = snappyCompress(body)
    const from = this.#bytes.offset
    writePageHeader(this.#bytes, {
      type: 'DATA_PAGE_V2',
      uncompressed_page_size: levels.offset + body.length,
      compressed_page_size: levels.offset + compressed.length,
      data_page_header_v2: {
        num_values: rows,
        num_nulls: nulls,
        num_rows: rows,
        encoding,
        definition_levels_byte_length: levels.offset,
        repetition_levels_byte_length: 0,
        is_compressed: true,
      },
    })
    const header = this.#bytes.offset - from
    this.#append(levels.getBytes())
    this.#append(compressed)
    return header + levels.offset + body.length
  }

  /** Bytes that are as they are: the library would copy them one by one. */
  #append(bytes: Uint8Array): void {
    this.#flush()
    this.#out.write(bytes)
    this.#bytes.offset += bytes.length
  }

  #flush(): void {
    this.#out.write(new Uint8Array(this.#bytes.buffer, 0, this.#bytes.index))
    this.#bytes.index = 0
  }
}

/** Numbers of values in a dictionary, as narrow as they can be. */
function indexBytes(indexes: Uint32Array, distinct: number): Uint8Array {
  const writer = new ByteWriter(indexes.length)
  const width = Math.max(1, Math.ceil(Math.log2(distinct)))
  writer.appendUint8(width)
  writeRleBitPackedHybrid(writer, indexes, width)
  return writer.getBytes()
}

const schemaOf = ({ name, type, isText, optional }: Column<never>): SchemaElement => ({
  name,
  type,
  repetition_type: optional ? 'OPTIONAL' : 'REQUIRED',
  ...(isText && { converted_type: 'UTF8' }),
  ...(name === 'utc' && { converted_type: 'TIMESTAMP_MICROS' }),
})
