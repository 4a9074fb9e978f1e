import { createReadStream, existsSync, rmSync } from 'node:fs'
import { basename } from 'node:path'
import { parse } from 'csv-parse'
import type { Clock } from '../../../app/base/clock.ts'
import { said } from '../../../app/messages/said.ts'
import { Bench, Channel } from '../../../app/records/bench.ts'
import { MARK_NAMES, type Mark } from '../../../app/records/mark.ts'
import { type NewReading, RawUnit } from '../../../app/records/reading.ts'
import type { Register } from '../../../app/records/register.ts'
import type { SessionInfo, SessionSetup } from '../../../app/records/session.ts'
import { StoreError } from '../errors.ts'
import { isOwnHeading, unguardCell } from '../export/text.ts'
import { renameWhole } from '../rename-whole.ts'
import { createSessionFile, type SessionFile } from '../session-file.ts'
import { readTime, type TimeReader } from './time.ts'

/** A column of the file that becomes a channel. */
export interface MappedChannel {
  id: string
  column: string
  unit: RawUnit
  name?: string | undefined
  role?: Channel['role'] | undefined
  thermometer?: string | undefined
  /** Reference resistor of a ratio. */
  resistor?: string | undefined
  currentMa?: number | undefined
}

export interface CsvMapping {
  /** Column of the times; not needed for a table that this program exported. */
  time?: { column: string; reader: TimeReader } | undefined
  channels: readonly MappedChannel[]
  delimiter: string
  decimalSign: '.' | ','
}

export interface ImportOptions {
  path: string
  out: string
  mapping: CsvMapping
  id: string
  name: string
  operator: string
  laboratory: SessionSetup['laboratory']
  register: Register
  program: { name: string; version: string }
  clock: Pick<Clock, 'now'>
}

export interface ImportResult {
  readings: number
  /** Cells that hold no number; they are kept as they are, marked 'garbled'. */
  withoutNumber: number
  emptyCells: number
}

const BATCH = 2000
const DECIMAL = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/

/**
 * Makes a session of a CSV file recorded elsewhere. Every cell is kept as it was written, marked 'imported'. Throws
 * StoreError 'refused' with line and column where a time cannot be read; nothing is left behind then.
 */
export async function importCsv(options: ImportOptions): Promise<ImportResult> {
  const { path, out, mapping } = options
  if (existsSync(out)) throw new StoreError('exists', said('file-exists', { path: out }), { out })
  if (!existsSync(path)) throw new StoreError('not-found', said('no-such-file', { path }), { path })
  const partPath = `${out}.${process.pid}.part`
  const result: ImportResult = { readings: 0, withoutNumber: 0, emptyCells: 0 }
  let file: SessionFile | undefined
  let waiting: NewReading[] = []
  const store = () => {
    if (waiting.length === 0) return
    file ??= create(partPath, options, waiting)
    file.commit({ readings: waiting })
    result.readings += waiting.length
    waiting = []
  }
  try {
    const lines = createReadStream(path).pipe(
      parse({
        delimiter: mapping.delimiter,
        bom: true,
        relax_quotes: true,
        skip_empty_lines: true,
        info: true,
        comment: '#',
        comment_no_infix: true,
      }),
    )
    let readRow: ((cells: string[], line: number) => NewReading[]) | undefined
    for await (const { record, info } of lines as AsyncIterable<{
      record: string[]
      info: { lines: number }
    }>) {
      if (!readRow) readRow = rowReader(record, mapping, result)
      else waiting.push(...readRow(record, info.lines))
      if (waiting.length >= BATCH) store()
    }
    store()
    if (!file) throw new StoreError('refused', said('no-readings-in-file', { path }), { path })
    file.finish('complete', `imported from ${basename(path)}`)
    file.close()
    renameWhole(partPath, out)
    return result
  } catch (fault) {
    file?.close()
    for (const suffix of ['', '-wal', '-shm', '-journal']) rmSync(partPath + suffix, { force: true })
    if (fault instanceof Error && 'code' in fault && String(fault.code).startsWith('CSV_'))
      throw new StoreError('refused', said('import-trouble', { path, said: fault.message }), { path }, fault)
    throw fault
  }
}

function rowReader(header: string[], mapping: CsvMapping, result: ImportResult) {
  if (isOwnHeading(header)) return ownRow
  const { time, channels } = mapping
  const place = (column: string) => {
    const at = header.indexOf(column)
    if (at < 0)
      throw new StoreError('refused', said('no-such-column', { column, header: header.join(', ') }), {
        column,
      })
    return at
  }
  if (!time || channels.length === 0)
    throw new StoreError('refused', said('columns-not-said', { header: header.join(', ') }))
  const timeAt = place(time.column)
  const places = channels.map((channel) => ({ channel, at: place(channel.column) }))
  let firstUtcUs: number | undefined
  let monoUs = 0
  return (cells: string[], line: number): NewReading[] => {
    const text = cells[timeAt] ?? ''
    const utcUs = readTime(mapping.decimalSign === ',' ? text.replace(',', '.') : text, time.reader)
    if (utcUs === undefined)
      throw new StoreError(
        'refused',
        said('line-not-a-time', {
          line,
          column: time.column,
          text,
          form: time.reader.form,
          zone: time.reader.form === 'iso' ? ' with a zone (Z or +01:00), or say --utc-offset' : '',
        }),
        { line, text },
      )
    firstUtcUs ??= utcUs
    // The count of a session never steps back, even where the other program's clock did.
    monoUs = Math.max(monoUs, utcUs - firstUtcUs)
    return places.flatMap(({ channel, at }) => {
      const raw = cells[at] ?? ''
      if (raw.trim() === '') {
        result.emptyCells++
        return []
      }
      const value = decimalOf(raw, mapping.decimalSign)
      if (value === null) result.withoutNumber++
      const marks: Mark[] = value === null ? ['garbled', 'imported'] : ['imported']
      return [
        {
          channel: channel.id,
          utcUs,
          monoUs,
          raw,
          value,
          unit: channel.unit,
          marks,
          currentMa: channel.currentMa ?? null,
        },
      ]
    })
  }
}

function decimalOf(raw: string, sign: '.' | ','): string | null {
  const text = raw.trim()
  const point = sign === ',' ? text.replace(',', '.') : text
  return DECIMAL.test(point) ? point : null
}

/** A row of a table that this program exported, with either decimal sign: every column comes back as it was. */
function ownRow(cells: string[], line: number): NewReading[] {
  const [
    ,
    utc = '',
    secondsText = '',
    channel = '',
    raw = '',
    valueText = '',
    unitText = '',
    currentText = '',
    marksText = '',
  ] = cells
  const [seconds, value, current] = [secondsText, valueText, currentText].map((text) =>
    text.replace(',', '.'),
  ) as [string, string, string]
  const utcUs = readTime(utc, { form: 'iso', originUtcUs: 0 })
  const unit = RawUnit.safeParse(unitText)
  const marks = marksText === '' ? [] : marksText.split(' ')
  const known = marks.filter((mark): mark is Mark => MARK_NAMES.some((name) => name === mark))
  if (utcUs === undefined || !unit.success || known.length < marks.length || !/^-?\d+\.\d{6}$/.test(seconds))
    throw new StoreError('refused', said('line-not-as-exported', { line }), { line })
  return [
    {
      channel: unguardCell(channel),
      utcUs,
      monoUs: Number(seconds.replace('.', '')),
      raw: unguardCell(raw),
      value: value === '' ? null : value,
      unit: unit.data,
      marks: known.includes('imported') ? known : [...known, 'imported'],
      currentMa: current === '' ? null : Number(current),
    },
  ]
}

function create(path: string, options: ImportOptions, first: readonly NewReading[]): SessionFile {
  const { id, name, operator, laboratory, register, program, mapping, clock } = options
  const ids =
    mapping.channels.length > 0
      ? mapping.channels
      : [...new Set(first.map(({ channel }) => channel))].map((channel) => ({ id: channel }) as MappedChannel)
  const info: SessionInfo = {
    id,
    name,
    kind: 'imported',
    operator,
    startedUtcUs: first[0]!.utcUs,
    endedUtcUs: null,
    ending: null,
    endingReason: null,
    program: program.name,
    programVersion: program.version,
    note: `Imported from ${basename(options.path)}.`,
  }
  const bench = Bench.parse({
    id: 'imported',
    name: `Columns of ${basename(options.path)}`,
    instruments: [],
    channels: ids.map((c) =>
      Channel.parse({
        id: c.id,
        name: c.name ?? c.id,
        role: c.role ?? 'monitor',
        instrument: 'imported',
        ...(c.thermometer === undefined ? {} : { thermometer: c.thermometer }),
        ...(c.resistor === undefined ? {} : { reference: { kind: 'resistor', resistor: c.resistor } }),
        ...(c.currentMa === undefined ? {} : { currentMa: c.currentMa }),
      }),
    ),
  })
  return createSessionFile(path, {
    info,
    setup: { bench, plan: null, register, profiles: {}, laboratory, job: null },
    clock,
  })
}
