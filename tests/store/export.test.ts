import { spawnSync } from 'node:child_process'
import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { parse } from 'csv-parse/sync'
import { stringify } from 'csv-stringify/sync'
import fc from 'fast-check'
import { parquetMetadata, parquetReadObjects } from 'hyparquet'
import { describe, expect, it } from 'vitest'
import { isoUtc } from '../../app/base/clock.ts'
import type { Channel } from '../../app/records/bench.ts'
import { MARK_NAMES } from '../../app/records/mark.ts'
import { type NewReading, RAW_UNITS, type Reading } from '../../app/records/reading.ts'
import { Resistor, Thermometer } from '../../app/records/register.ts'
import { CsvRows } from '../../main/store/export/csv-rows.ts'
import { exportSession } from '../../main/store/export/export.ts'
import { known, type Shown } from '../../main/store/export/shown.ts'
import {
  CSV_COLUMNS,
  guardCell,
  STORED_COLUMNS,
  sessionSeconds,
  type TableStyle,
  unguardCell,
} from '../../main/store/export/text.ts'
import { importCsv } from '../../main/store/import/csv.ts'
import { lookAtTable } from '../../main/store/import/look.ts'
import { createSessionFile, openSessionFile } from '../../main/store/session-file.ts'
import { verifySession } from '../../main/store/verify.ts'
import { hasProgram } from '../has-program.ts'
import { exampleClock, exampleInfo, exampleSetup, scan, temporaryFolder } from './example.ts'

const create = (path: string) =>
  createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })

const anyReading: fc.Arbitrary<NewReading> = fc
  .record({
    channel: fc.constantFrom('ch1', 'ch2'),
    utcUs: fc.integer({ min: 0, max: 4e15 }),
    monoUs: fc.integer({ min: 0, max: 4e14 }),
    raw: fc.oneof(
      fc.double({ noNaN: true, noDefaultInfinity: true }).map((v) => `+${Math.abs(v).toExponential(12)}`),
      fc.string({ unit: 'grapheme' }),
      fc.constantFrom('=1+1', '@x', '-', '+', '\tx', "'quoted", '"a","b"', 'a\r\nb', ' 1 ', ''),
    ),
    value: fc.constant(null),
    unit: fc.constantFrom(...RAW_UNITS),
    marks: fc.subarray([...MARK_NAMES]),
    currentMa: fc.option(fc.double({ min: 0, max: 100, noNaN: true })),
  })
  .map((r) => ({
    ...r,
    value: /^[+-]?\d/.test(r.raw) && Number.isFinite(Number(r.raw)) ? r.raw.trim() : null,
  }))

const nothingShown = {
  ...{ channelName: '', thermometer: '', serial: '', shownUnit: '' },
  ...{ resistanceOhm: null, voltageMv: null, celsius: null, expandedMk: null, shown: null },
}

const csvRows = (readings: readonly Reading[], shownOf: () => Shown, style: TableStyle = 'point') =>
  Buffer.from(new CsvRows(style).bytes(readings, shownOf)).toString('utf8')

/** A night with an industrial platinum thermometer in degF and an air sensor without a record. */
function platinum(path: string) {
  const calibration = { date: '2026-01-01', certificate: 'Q-1', laboratory: 'Quennick' }
  const channel = (id: string, more: Partial<Channel>): Channel => ({
    ...{ id, name: `Channel ${id}`, role: 'under-test' as const, instrument: 'bridge', input: 1, route: [] },
    ...{ currentMa: 1, settleMs: 0, discard: 0, readings: 1, average: 1, enabled: true },
    ...more,
  })
  const file = createSessionFile(path, {
    info: exampleInfo,
    setup: {
      ...exampleSetup,
      bench: {
        ...exampleSetup.bench,
        channels: [
          channel('prt', {
            ...{ name: '=Probe 7', thermometer: 't-1', unit: 'degF' },
            reference: { kind: 'resistor', resistor: 'rs' },
          }),
          channel('air', { role: 'monitor' }),
        ],
      },
      register: {
        ...exampleSetup.register,
        thermometers: [
          Thermometer.parse({
            ...{ id: 't-1', name: 'Dairy probe', kind: 'prt', serial: '88112', lowC: -50, highC: 250 },
            nominalOhm: 100,
            calibrations: [
              {
                ...{ ...calibration, id: 'c', lowC: -50, highC: 250 },
                // IEC 60751:2022, 4.2 (numbers from memory; its table is held against in tests/published).
                conversion: {
                  kind: 'callendar-van-dusen',
                  r0: '100',
                  a: '3.9083e-3',
                  b: '-5.775e-7',
                  c: '0',
                },
                uncertainty: {
                  k: 2,
                  points: [
                    { celsius: 0, expandedMk: 10 },
                    { celsius: 200, expandedMk: 10 },
                  ],
                },
              },
            ],
          }),
        ],
        resistors: [
          Resistor.parse({
            ...{ id: 'rs', name: 'Rs 100', nominalOhm: 100, keptAtC: 23, uKeptAtK: 0 },
            calibrations: [{ ...calibration, id: 'r', ohm: '100', celsius: 23, expandedRelative: 0 }],
          }),
        ],
      },
    },
    clock: exampleClock(),
  })
  const at = { utcUs: 1_772_388_000_000_000, monoUs: 0, marks: [], currentMa: null }
  file.commit({
    readings: [
      // IEC 60751 table: 138.5055 ohm at 100 degC.
      { ...at, channel: 'prt', raw: '1.385055', value: '1.385055', unit: 'ratio', marks: ['late'] },
      { ...at, channel: 'air', raw: '21.5', value: '21.5', unit: 'degC' },
      { ...at, channel: 'prt', raw: 'OVER', value: null, unit: 'ratio' },
    ],
  })
  file.close()
}

describe('CsvRows', () => {
  it('writes rows as the library does, cell by cell', () => {
    fc.assert(
      fc.property(
        fc.array(anyReading, { maxLength: 20 }),
        fc.constantFrom('point', 'comma'),
        (list, style) => {
          const readings = list.map((r, i) => ({ ...r, seq: i + 1 }))
          const shown = {
            ...{ channelName: '=Probe "7"', thermometer: 'a;b,c', serial: '8-1', shownUnit: 'degF' },
            ...{ resistanceOhm: 138.5, voltageMv: null, celsius: -1e-7, expandedMk: 10, shown: 212.5 },
          }
          const delimiter = style === 'point' ? ',' : ';'
          const decimal = (text: string) => (style === 'comma' ? text.replace('.', ',') : text)
          const plain = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/
          const raw = (text: string) =>
            style === 'comma' && plain.test(text) && text.includes('.') ? `'${text}` : guardCell(text)
          const cells = readings.map((r) => [
            ...[String(r.seq), isoUtc(r.utcUs), decimal(sessionSeconds(r.monoUs)), guardCell(r.channel)],
            ...[raw(r.raw), decimal(r.value ?? ''), r.unit, decimal(String(r.currentMa ?? ''))],
            ...[r.marks.join(' '), guardCell(shown.channelName), shown.thermometer, guardCell(shown.serial)],
            ...['138.5', '', '-1e-7', '10', '212.5'].map(decimal),
            'degF',
          ])
          const form = { delimiter, record_delimiter: 'windows' } as const
          const ours = csvRows(readings, () => shown, style)
          expect(parse(ours, { delimiter, record_delimiter: '\r\n' })).toEqual(cells)
          // A line feed alone stands in quotes here and not there; RFC 4180, 2.6 asks for them.
          if (!readings.some((r) => /[\r\n]/.test(r.raw))) expect(ours).toBe(stringify(cells, form))
        },
      ),
    )
  })
})

describe('known', () => {
  it('is what twelve digits of text are', () => {
    const any = fc.oneof(
      fc.double({ noNaN: true, noDefaultInfinity: true }),
      fc.double({ min: -1e3, max: 1e3, noNaN: true }),
      // On and beside a half after the twelfth digit, and powers of ten.
      fc.integer({ min: 1, max: 2e6 }).map((n) => 100 + n * 0.5e-9),
      fc.integer({ min: -12, max: 12 }).map((n) => 10 ** n * (1 - 2 ** -50)),
    )
    fc.assert(
      fc.property(any, (value) => {
        expect(known(value)).toBe(Number(value.toPrecision(12)))
      }),
      { numRuns: 2000 },
    )
    expect([Number.NaN, Number.POSITIVE_INFINITY].map(known)).toEqual([null, null])
  })
})

describe('exportSession', () => {
  it('says beside each reading what it means: names, resistance, temperature, U, and the unit of its channel', async () => {
    const folder = temporaryFolder()
    const path = join(folder, 'a.stillpoint')
    platinum(path)
    const out = (format: string) => join(folder, `a.${format}`)
    for (const format of ['csv', 'jsonl', 'parquet', 'sqlite-table'] as const)
      await exportSession(path, { format, out: out(format) })
    const [first, air, over] = parse(readFileSync(out('csv')), { columns: true }) as Record<string, string>[]
    expect(first).toMatchObject({
      ...{ channel: 'prt', marks: 'late', 'channel name': "'=Probe 7", thermometer: 'Dairy probe' },
      ...{
        'serial number': '88112',
        'resistance (ohm)': '138.5055',
        'voltage (mV)': '',
        'unit shown': 'degF',
      },
    })
    expect(Number(first!['temperature (degC)'])).toBeCloseTo(100, 4)
    expect(Number(first!.shown)).toBeCloseTo(212, 3)
    expect(Number(first!['U of temperature (mK, k = 2)'])).toBeGreaterThanOrEqual(10)
    expect(air).toMatchObject({ 'resistance (ohm)': '', shown: '21.5', 'unit shown': 'degC' })
    expect(over).toMatchObject({ value: '', 'resistance (ohm)': '', 'temperature (degC)': '', shown: '' })

    const [row] = await parquetReadObjects({ file: new Uint8Array(readFileSync(out('parquet'))).buffer })
    const named = {
      ...{ channel_name: '=Probe 7', thermometer: 'Dairy probe', serial_number: '88112', unit_shown: 'degF' },
      ...{ resistance_ohm: 138.5055, voltage_mV: null, marks: 'late' },
    }
    expect(row).toMatchObject(named)
    if (hasProgram('sqlite3')) {
      // Read by the sqlite3 shell, which nobody here wrote.
      const shell = spawnSync(
        'sqlite3',
        ['-json', out('sqlite-table'), 'SELECT * FROM readings ORDER BY seq'],
        {
          encoding: 'utf8',
        },
      )
      const rows = JSON.parse(shell.stdout) as Record<string, unknown>[]
      expect(rows).toHaveLength(3)
      expect(rows[0]).toMatchObject(named)
      expect(rows[0]!.temperature_degC).toBe(row!.temperature_degC)
      expect(rows[0]!.shown).toBe(Number(first!.shown))
    } else console.error('sqlite3 is not installed: its shell does not read the table of readings here.')
    expect(JSON.parse(readFileSync(out('jsonl'), 'utf8').split('\n')[0]!)).toMatchObject({
      ...{ channel: 'prt', thermometer: 'Dairy probe', resistanceOhm: 138.5055, shownUnit: 'degF' },
    })
  })

  it('is read in again also as tables were written before they said what readings mean', async () => {
    const stored = csvRows([{ seq: 1, ...scan(0, 1)[0]! }], () => nothingShown)
    const old = `${STORED_COLUMNS.join(',')}\r\n${stored.split(',').slice(0, STORED_COLUMNS.length).join(',')}\r\n`
    expect(lookAtTable(old).own).toBe(true)
  })

  it('gives every reading back digit for digit from CSV, JSON Lines and Parquet', async () => {
    const folder = temporaryFolder()
    let run = 0
    await fc.assert(
      fc.asyncProperty(fc.array(anyReading, { minLength: 1, maxLength: 40 }), async (readings) => {
        const path = join(folder, `${++run}.stillpoint`)
        const file = create(path)
        file.commit({ readings })
        const stored = file.since(0, 1000)
        file.close()
        const out = (format: string) => join(folder, `${run}.${format}`)
        for (const format of ['csv', 'jsonl', 'parquet'] as const)
          expect(await exportSession(path, { format, out: out(format) })).toMatchObject({
            readings: stored.length,
            lost: [],
          })

        const [header, ...rows] = parse(readFileSync(out('csv'))) as string[][]
        expect(header).toEqual([...CSV_COLUMNS])
        expect(
          rows.map(([seq, utc, seconds, channel, raw, value, unit, current, marks]) => ({
            seq: Number(seq),
            channel,
            utcUs: Date.parse(`${utc!.slice(0, 23)}Z`) * 1000 + Number(utc!.slice(23, 26)),
            monoUs: Number(seconds!.replace('.', '')),
            raw: unguardCell(raw!),
            value: value === '' ? null : value,
            unit,
            marks: marks === '' ? [] : marks!.split(' '),
            currentMa: current === '' ? null : Number(current),
          })),
        ).toEqual(stored)
        for (const cell of rows.flat())
          expect(cell, 'no cell is a formula').not.toMatch(/^[=@\t]|^[+-](?![\d.])/)

        const lines = readFileSync(out('jsonl'), 'utf8').trimEnd().split('\n')
        expect(lines.map((line) => JSON.parse(line))).toMatchObject(stored)

        const bytes = readFileSync(out('parquet'))
        const buffer = new Uint8Array(bytes).buffer
        const objects = await parquetReadObjects({ file: buffer })
        expect(
          objects.map((o) => ({
            seq: Number(o.seq),
            channel: o.channel,
            monoUs: Number(o.session_time_us),
            raw: o.raw,
            value: o.value,
            unit: o.unit,
            marks: o.marks === '' ? [] : String(o.marks).split(' '),
            currentMa: o.measuring_current_mA,
          })),
        ).toEqual(stored.map(({ utcUs: _, ...rest }) => rest))
        for (const [i, o] of objects.entries())
          expect(Math.abs((o.utc as Date).getTime() - stored[i]!.utcUs / 1000)).toBeLessThan(1)
        expect(parquetMetadata(buffer).key_value_metadata).toContainEqual({
          key: 'session',
          value: 'example',
        })
      }),
      { numRuns: 20 },
    )
  })

  it('begins another row group of Parquet where one is full, each with its own range and its own missing values', async () => {
    const folder = temporaryFolder()
    const file = create(join(folder, 'a.stillpoint'))
    const many = 40_000
    const [first] = scan(0, 1)
    const readings = Array.from({ length: many }, (_, i): NewReading => {
      const value = i % 1000 === 7 ? null : String(i - 20_000)
      return { ...first!, utcUs: first!.utcUs + i, monoUs: i, raw: value ?? 'OVLD', value, currentMa: null }
    })
    for (let from = 0; from < many; from += 5000) file.commit({ readings: readings.slice(from, from + 5000) })
    file.close()
    const out = join(folder, 'a.parquet')
    await exportSession(join(folder, 'a.stillpoint'), { format: 'parquet', out })
    const buffer = new Uint8Array(readFileSync(out)).buffer
    const { row_groups } = parquetMetadata(buffer)
    expect(row_groups.length).toBe(2)
    const rows = await parquetReadObjects({ file: buffer, columns: ['seq', 'value', 'number'] })
    expect(rows.map(({ value }) => value)).toEqual(readings.map(({ value }) => value))
    const from = Number(row_groups[0]!.num_rows)
    const numbers = rows.slice(from).flatMap(({ number }) => (number === null ? [] : [Number(number)]))
    const column = row_groups[1]!.columns.find(({ meta_data }) => meta_data!.path_in_schema[0] === 'number')!
    expect(column.meta_data!.statistics).toMatchObject({
      min_value: Math.min(...numbers),
      max_value: Math.max(...numbers),
      null_count: BigInt(many - from - numbers.length),
    })
  })

  it('writes semicolons and decimal commas where they are asked for, and reads that back digit for digit', async () => {
    const folder = temporaryFolder()
    let run = 0
    await fc.assert(
      fc.asyncProperty(fc.array(anyReading, { minLength: 1, maxLength: 40 }), async (readings) => {
        const path = join(folder, `${++run}.stillpoint`)
        const file = create(path)
        file.commit({ readings })
        const stored = file.since(0, 1000)
        file.close()
        const out = join(folder, `${run}.csv`)
        await exportSession(path, { format: 'csv-semicolon', out })
        const text = readFileSync(out, 'utf8')
        const [header, ...rows] = parse(text, { delimiter: ';' }) as string[][]
        expect(header).toEqual([...CSV_COLUMNS])
        for (const [i, [, , seconds, , , value, , current]] of rows.entries()) {
          expect(seconds).toMatch(/^\d+,\d{6}$/)
          expect(value).toBe((stored[i]!.value ?? '').replace('.', ','))
          expect(current).toBe(String(stored[i]!.currentMa ?? '').replace('.', ','))
        }
        for (const cell of rows.flat())
          expect(cell, 'no cell is a formula').not.toMatch(/^[=@\t]|^[+-](?![\d,])/)

        const look = lookAtTable(text)
        expect(look).toMatchObject({ own: true, delimiter: ';' })
        const again = join(folder, `${run}-again.stillpoint`)
        await importCsv({
          path: out,
          out: again,
          mapping: { channels: [], delimiter: look.delimiter, decimalSign: look.decimalSign },
          id: 'again',
          name: 'Again',
          operator: 'A. Person',
          laboratory: exampleSetup.laboratory,
          register: exampleSetup.register,
          program: { name: 'Stillpoint', version: '0' },
          clock: exampleClock(),
        })
        const imported = openSessionFile(again, { mode: 'read' })
        expect(imported.since(0, 1000)).toEqual(
          stored.map((r) => ({
            ...r,
            // Marks stand in the order of their table, wherever one was added.
            marks: MARK_NAMES.filter((mark) => mark === 'imported' || r.marks.includes(mark)),
          })),
        )
        imported.close()
      }),
      { numRuns: 20 },
    )
  })

  it('keeps what was sent from being taken for a date where commas are decimal', () => {
    expect(
      csvRows([{ seq: 1, ...scan(0, 1)[0]!, raw: '1.04', value: '1.04' }], () => nothingShown, 'comma'),
    ).toMatch(/;'1\.04;1,04;ratio;/)
  })

  it('ends CSV lines with CR LF and quotes only what needs it, as RFC 4180 section 2 says', async () => {
    const folder = temporaryFolder()
    const file = create(join(folder, 'a.stillpoint'))
    file.commit({ readings: [{ ...scan(0, 1)[0]!, raw: 'say "1,2"' }, ...scan(1, 1)] })
    file.close()
    await exportSession(join(folder, 'a.stillpoint'), { format: 'csv', out: join(folder, 'a.csv') })
    const text = readFileSync(join(folder, 'a.csv'), 'utf8')
    expect(text.split('\r\n')).toHaveLength(4)
    expect(text.replaceAll('\r\n', '')).not.toMatch(/[\r\n]/)
    expect(text).toContain(',"say ""1,2""",')
    expect(text).toContain('2026-03-01T18:00:01.000000Z,1.000000,ch1,+1.04')
    await exportSession(join(folder, 'a.stillpoint'), {
      format: 'csv',
      out: join(folder, 'b.csv'),
      comments: true,
    })
    const withComments = readFileSync(join(folder, 'b.csv'), 'utf8')
    expect(withComments).toMatch(/^# session: example\r\n# name: .*\r\n/)
    expect(withComments).toMatch(/# chain head: [0-9a-f]{64}\r\nseq,utc,/)
    expect(withComments.endsWith(text)).toBe(true)
  })

  it('copies a session whole while it is being written', async () => {
    const folder = temporaryFolder()
    const file = create(join(folder, 'a.stillpoint'))
    for (let tick = 0; tick < 3000; tick++) file.commit({ readings: scan(tick, 10) })
    const copying = exportSession(join(folder, 'a.stillpoint'), {
      format: 'sqlite',
      out: join(folder, 'b.stillpoint'),
    })
    let tick = 3000
    const writing = setInterval(() => file.commit({ readings: scan(tick++, 10) }), 1)
    const result = await copying
    clearInterval(writing)
    expect(result.readings).toBeGreaterThanOrEqual(30_000)
    expect(tick).toBeGreaterThan(3000)
    expect(verifySession(join(folder, 'b.stillpoint'))).toMatchObject({
      whole: true,
      readings: result.readings,
    })
    const copy = openSessionFile(join(folder, 'b.stillpoint'), { mode: 'read' })
    expect(copy.since(0, 20)).toEqual(file.since(0, 20))
    copy.close()
    file.close()
    expect(readdirSync(folder).sort()).toEqual(['a.stillpoint', 'b.stillpoint'])
  })

  it('leaves what was there before when it is cancelled or not told to replace', async () => {
    const folder = temporaryFolder()
    const file = create(join(folder, 'a.stillpoint'))
    file.commit({ readings: scan(0, 10) })
    file.close()
    const out = join(folder, 'a.csv')
    writeFileSync(out, 'before')
    await expect(exportSession(join(folder, 'a.stillpoint'), { format: 'csv', out })).rejects.toThrow(
      /exists already/,
    )
    for (const format of ['csv', 'parquet', 'sqlite'] as const)
      await expect(
        exportSession(join(folder, 'a.stillpoint'), {
          format,
          out,
          replace: true,
          signal: AbortSignal.abort(new Error('enough')),
        }),
      ).rejects.toThrow(/enough/)
    expect(readFileSync(out, 'utf8')).toBe('before')
    expect(readdirSync(folder).filter((name) => name.includes('part'))).toEqual([])
    await exportSession(join(folder, 'a.stillpoint'), { format: 'csv', out, replace: true })
    expect(readFileSync(out, 'utf8')).toMatch(/^seq,utc,/)
    expect(existsSync(`${out}.part`)).toBe(false)
  })
})

describe('guardCell', () => {
  it('is undone by unguardCell for every text', () => {
    fc.assert(
      fc.property(fc.oneof(fc.string(), fc.constantFrom("'", "'=", '=a', '+1', '-x')), (text) => {
        expect(unguardCell(guardCell(text))).toBe(text)
      }),
    )
  })

  it('leaves numbers as they are', () => {
    for (const text of ['+1.04E+00', '-5', '.5', '+.5e-3']) expect(guardCell(text)).toBe(text)
  })
})
