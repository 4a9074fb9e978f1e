import { readdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { exportSession } from '../../main/store/export/export.ts'
import { type CsvMapping, importCsv } from '../../main/store/import/csv.ts'
import { minutesOf, readTime } from '../../main/store/import/time.ts'
import { createSessionFile, openSessionFile } from '../../main/store/session-file.ts'
import { verifySession } from '../../main/store/verify.ts'
import { exampleClock, exampleInfo, exampleSetup, scan, temporaryFolder } from './example.ts'

const mapping: CsvMapping = {
  time: { column: 'Time', reader: { form: 'iso', originUtcUs: 0 } },
  channels: [
    { id: 'ref', column: 'Ratio A', unit: 'ratio', role: 'reference', thermometer: 't1', resistor: 'r25' },
    { id: 'bath', column: 'Bath', unit: 'degC' },
  ],
  delimiter: ',',
  decimalSign: '.',
}

function importText(text: string, change: Partial<CsvMapping> = {}) {
  const folder = temporaryFolder()
  writeFileSync(join(folder, 'in.csv'), text)
  const out = join(folder, 'out.stillpoint')
  const done = importCsv({
    path: join(folder, 'in.csv'),
    out,
    mapping: { ...mapping, ...change },
    id: 'imported-in',
    name: 'In',
    operator: 'A. Person',
    laboratory: exampleSetup.laboratory,
    register: exampleSetup.register,
    program: { name: 'Stillpoint', version: '0' },
    clock: exampleClock(),
  })
  return { folder, out, done }
}

const read = (out: string) => {
  const file = openSessionFile(out, { mode: 'read' })
  const all = { info: file.info, setup: file.setup, readings: file.since(0, 1000) }
  file.close()
  return all
}

describe('importCsv', () => {
  it('makes a session of columns, keeping every cell as it was written', async () => {
    const { out, done } = importText(
      'Time,Bath,Ratio A\r\n2026-01-05T10:00:00.000001Z,24.99,1.0451234500\r\n2026-01-05T11:00:01+01:00,,---\r\n',
    )
    expect(await done).toEqual({ readings: 3, withoutNumber: 1, emptyCells: 1 })
    const { info, setup, readings } = read(out)
    expect(info).toMatchObject({
      kind: 'imported',
      ending: 'complete',
      startedUtcUs: Date.UTC(2026, 0, 5, 10) * 1000 + 1,
    })
    expect(setup.bench.channels[0]).toMatchObject({
      id: 'ref',
      thermometer: 't1',
      reference: { kind: 'resistor', resistor: 'r25' },
    })
    expect(
      readings.map(({ channel, raw, value, marks, monoUs }) => [channel, raw, value, marks, monoUs]),
    ).toEqual([
      ['ref', '1.0451234500', '1.0451234500', ['imported'], 0],
      ['bath', '24.99', '24.99', ['imported'], 0],
      ['ref', '---', null, ['garbled', 'imported'], 999_999],
    ])
    expect(verifySession(out).whole).toBe(true)
  })

  it('reads decimal commas, semicolons and seconds from a start', async () => {
    const { out, done } = importText('Time;Ratio A;Bath\n0,5;1,0450;20,1\n1,5;1,0451;20,2\n', {
      delimiter: ';',
      decimalSign: ',',
      time: { column: 'Time', reader: { form: 's', originUtcUs: 1e15 } },
    })
    await done
    expect(read(out).readings.map(({ utcUs, raw, value }) => [utcUs, raw, value])).toEqual([
      [1e15 + 500_000, '1,0450', '1.0450'],
      [1e15 + 500_000, '20,1', '20.1'],
      [1e15 + 1_500_000, '1,0451', '1.0451'],
      [1e15 + 1_500_000, '20,2', '20.2'],
    ])
  })

  it('refuses what it cannot place, with line and column, and leaves nothing behind', async () => {
    for (const [text, words] of [
      [
        'Time,Bath,Ratio A\n2026-01-05 10:00:00,1,2\n',
        /Line 2, column "Time": "2026-01-05 10:00:00" is not a time .* zone/,
      ],
      ['Time,Bath,Ratio A\n2026-01-05T10:00:00Z,1,2\n2026-02-30T10:00:00Z,1,2\n', /Line 3/],
      ['When,Bath,Ratio A\n', /no column "Time". The columns are: When, Bath, Ratio A/],
      ['Time,Bath,Ratio A\n', /holds no readings/],
      ['Time,Bath,Ratio A\n2026-01-05T10:00:00Z,1\n', /in\.csv: .*line 2/i],
    ] as const) {
      const { folder, done } = importText(text)
      await expect(done, text).rejects.toThrow(words)
      expect(readdirSync(folder)).toEqual(['in.csv'])
    }
  })

  it('takes back a table that was exported, reading by reading', async () => {
    const folder = temporaryFolder()
    const path = join(folder, 'a.stillpoint')
    const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
    for (let tick = 0; tick < 50; tick++) file.commit({ readings: scan(tick, 3) })
    file.commit({
      readings: [{ ...scan(50, 1)[0]!, raw: '=1', value: null, marks: ['garbled'], currentMa: null }],
    })
    const stored = file.since(0, 1000)
    file.close()
    for (const comments of [false, true]) {
      const { path: csv } = await exportSession(path, {
        format: 'csv',
        out: join(folder, 'a.csv'),
        comments,
        replace: true,
      })
      const out = join(folder, `b-${comments}.stillpoint`)
      const { laboratory, register } = exampleSetup
      await importCsv({
        path: csv,
        out,
        mapping: { channels: [], delimiter: ',', decimalSign: '.' },
        id: 'b',
        name: 'b',
        operator: 'A. Person',
        laboratory,
        register,
        program: { name: 'Stillpoint', version: '0' },
        clock: exampleClock(),
      })
      expect(read(out).readings).toEqual(stored.map((r) => ({ ...r, marks: [...r.marks, 'imported'] })))
      expect(read(out).setup.bench.channels.map(({ id }) => id)).toEqual(['ch1', 'ch2', 'ch3'])
    }
  })
})

describe('readTime', () => {
  it('reads ISO 8601 with zone to the microsecond', () => {
    const iso = (text: string, offsetMin?: number) =>
      readTime(text, { form: 'iso', originUtcUs: 0, offsetMin })
    expect(iso('1970-01-01T00:00:00.000001Z')).toBe(1)
    expect(iso('1970-01-01 01:00:00,5+01:00')).toBe(500_000)
    expect(iso('1970-01-01T00:30-0130')).toBe(2 * 3600e6)
    expect(iso('1970-01-01T01:00:00', 60)).toBe(0)
    for (const bad of [
      '1970-01-01T00:00:00',
      '1970-02-30T00:00:00Z',
      '01/02/2026 10:00',
      '1970-01-01T25:00:00Z',
      '',
    ])
      expect(iso(bad), bad).toBeUndefined()
  })

  it('counts seconds, milliseconds and microseconds from where the table says, to the nearest microsecond', () => {
    const count = (form: 's' | 'ms' | 'us', text: string, originUtcUs = 1_000_000) =>
      readTime(text, { form, originUtcUs })
    expect([count('s', '1.5'), count('ms', '1.5'), count('us', '1.5', 0)]).toEqual([2_500_000, 1_001_500, 2])
    expect([count('s', ' -1 '), count('s', '1e3', 0), count('us', '0')]).toEqual([0, 1e9, 1_000_000])
    for (const none of ['', ' ', '1,5', 'noon', 'Infinity']) expect(count('s', none), none).toBeUndefined()
  })

  it('takes a zone of its own before the one of the table, and rounds what is finer than a microsecond', () => {
    const iso = (text: string) => readTime(text, { form: 'iso', originUtcUs: 5, offsetMin: 90 })
    expect([iso('1970-01-01T01:30'), iso('1970-01-01T01:30Z'), iso('1970-01-01T01:30+01')]).toEqual([
      0, 5_400e6, 1_800e6,
    ])
    expect([iso('1970-01-01T01:30:00.0000014'), iso('1970-01-01T01:30:00.0000016')]).toEqual([1, 2])
    expect(iso(' 1970-01-01T01:30:07 ')).toBe(7e6)
    for (const bad of ['1970-01-01T01:30:60', '1970-13-01T01:30', '1970-01-01T01', '1970-1-1T01:30'])
      expect(iso(bad), bad).toBeUndefined()
  })
})

describe('minutesOf', () => {
  it('reads offsets east as positive', () => {
    expect([minutesOf('+01:00'), minutesOf('-0330'), minutesOf('+05'), minutesOf('1h')]).toEqual([
      60,
      -210,
      300,
      undefined,
    ])
  })
})
