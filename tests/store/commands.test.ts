import { spawnSync } from 'node:child_process'
import { existsSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import { describe, expect, it } from 'vitest'
import { sharedFolder } from './example.ts'

const CLI = join(import.meta.dirname, '../../main/host/cli.ts')

describe('stillpoint', () => {
  const folder = sharedFolder()
  const run = (...args: string[]) => {
    const { status, stdout, stderr } = spawnSync(process.execPath, [CLI, ...args], {
      cwd: folder,
      encoding: 'utf8',
    })
    return { status, out: stdout.trimEnd(), err: stderr.trimEnd() }
  }
  const minute = (i: number) => `2026-01-05T10:00:${String(i).padStart(2, '0')}Z`
  writeFileSync(
    join(folder, 'night.csv'),
    `Time,Ratio A,Bath\n${Array.from({ length: 50 }, (_, i) => `${minute(i)},1.04512${i},25.0${i}`).join('\n')}\n`,
  )

  it('import makes a session of a table', { timeout: 60_000 }, () => {
    expect(
      run(
        'import',
        'night.csv',
        '--data',
        'lab',
        '--time',
        'Time',
        '--map',
        'ref=Ratio A:ratio:role=reference',
        '--map',
        'bath=Bath:degC',
      ),
    ).toEqual({
      status: 0,
      out: 'imported-night: 100 readings, 0 without a number, 0 empty cells left out',
      err: '',
    })
    // Semicolons and decimal commas need not be said.
    writeFileSync(
      join(folder, 'nacht.csv'),
      `Zeit;Verh\u00e4ltnis;Bad\n${Array.from({ length: 5 }, (_, i) => `${minute(i)};1,04512${i};25,0${i}`).join('\n')}\n`,
    )
    const german = ['--time', 'Zeit', '--map', 'ref=Verh\u00e4ltnis:ratio', '--map', 'bath=Bad:degC']
    expect(run('import', 'nacht.csv', '--data', 'lab2', ...german)).toMatchObject({
      status: 0,
      out: 'imported-nacht: 10 readings, 0 without a number, 0 empty cells left out',
    })
    expect(run('import', 'night.csv', '--data', 'lab', '--map', 'ref=Ratio A:furlong')).toMatchObject({
      status: 2,
    })
    expect(
      run('import', 'night.csv', '--data', 'lab', '--id', 'other', '--time', 'When', '--map', 'a=Bath:degC'),
    ).toEqual({
      status: 1,
      out: '',
      err: 'stillpoint: There is no column "When". The columns are: Time, Ratio A, Bath.',
    })
    expect(existsSync(join(folder, 'lab/sessions/other.stillpoint'))).toBe(false)
  })

  it('sessions lists it, and makes the list anew', { timeout: 60_000 }, () => {
    expect(run('sessions', '--data', 'lab').out).toBe(
      'imported-night  2026-01-05T10:00:00Z  night  (100 readings, 0 points, complete)',
    )
    expect(run('sessions', '--data', 'lab', '--search', 'nobody').out).toBe(
      'No session has all of these words.',
    )
    expect(JSON.parse(run('sessions', '--data', 'lab', '--json').out)).toMatchObject({ readings: 100 })
    expect(run('sessions', '--data', 'lab', '--rebuild').err).toMatch(/1 session listed/)
    run('import', 'nacht.csv', '--data', 'lab', '--time', 'Zeit', '--map', 'bath=Bad:degC')
    const first = run('sessions', '--data', 'lab', '--most', '1')
    expect(first.out.split('\n')).toHaveLength(1)
    expect(first.err).toBe('1 of 2 sessions shown, the newest. The others: --most 2, or --search WORDS.')
    expect(run('sessions', '--data', 'lab', '--most', '2').err).toBe('')
    expect(run('sessions', '--data', 'lab', '--most', 'all').status).toBe(2)
  })

  it('export writes it, and nothing over a file that is there', { timeout: 60_000 }, () => {
    for (const format of ['csv', 'jsonl', 'parquet', 'sqlite'])
      expect(
        run('export', 'imported-night', '--data', 'lab', '--format', format, '--out', `out.${format}`),
      ).toMatchObject({
        status: 0,
        out: expect.stringMatching(
          new RegExp(`^out\\.${format}: 100 readings, \\d+ bytes, head [0-9a-f]{16}$`),
        ),
      })
    expect(readFileSync(join(folder, 'out.csv'), 'utf8').split('\r\n')).toHaveLength(102)
    expect(
      run('export', 'imported-night', '--data', 'lab', '--format', 'csv', '--out', 'out.csv'),
    ).toMatchObject({
      status: 1,
      err: 'stillpoint: out.csv exists already; say --replace to write it anew.',
    })
    expect(run('export', 'out.sqlite', '--format', 'xml', '--out', 'x')).toMatchObject({ status: 2 })
  })

  it('verify ends with 0 where the chain is whole and with 1, the break and what is left where it is not', {
    timeout: 60_000,
  }, () => {
    expect(run('verify', 'imported-night', '--data', 'lab')).toMatchObject({
      status: 0,
      out: expect.stringMatching(
        /Whole: 100 readings in 2 batches, head [0-9a-f]{16}\. Held against 1 heads noted/,
      ),
    })
    const db = new Database(join(folder, 'out.sqlite'))
    const { sql } = db.prepare("SELECT sql FROM sqlite_schema WHERE name = 'log_no_update'").get() as {
      sql: string
    }
    db.exec(`DROP TRIGGER log_no_update; UPDATE log SET raw = '1' WHERE seq = 7; ${sql}`)
    db.close()
    const broken = run('verify', 'out.sqlite')
    expect(broken.status).toBe(1)
    expect(broken.out.split('\n')).toEqual([
      'out.sqlite: Broken after 0 readings in 0 batches that are whole. Batch 1 (readings 1 to 100, from 2026-01-05T10:00:00.000000Z) is not what was recorded.',
      'All 100 readings can still be read, as they stand now.',
    ])
    expect(run('verify', 'night.csv')).toMatchObject({ status: 1 })
    expect(run('verify', 'nothing')).toMatchObject({
      status: 1,
      err: expect.stringMatching(/There is no file nothing/),
    })
  })
})
