import { spawnSync } from 'node:child_process'
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { gunzipSync } from 'node:zlib'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'

const cli = join(import.meta.dirname, '../../main/host/cli.ts')
const forms = join(import.meta.dirname, '../store/old-forms')
const NEWEST = readdirSync(forms)
  .filter((name) => name.startsWith('station'))
  .toSorted((a, b) => Number(/\d+/.exec(a)![0]) - Number(/\d+/.exec(b)![0]))
  .at(-1)!

let base: string
const at = (name: string) => join(base, name)
const stillpoint = (...args: string[]) => spawnSync(process.execPath, [cli, ...args], { encoding: 'utf8' })

beforeAll(() => {
  base = mkdtempSync(join(tmpdir(), 'stillpoint-commands-'))
  mkdirSync(at('station/sessions'), { recursive: true })
  for (const file of readdirSync(join(forms, NEWEST))) {
    const plain = file.replace(/\.gz$/, '')
    writeFileSync(
      join(at('station'), plain.endsWith('.stillpoint') ? 'sessions' : '', plain),
      gunzipSync(readFileSync(join(forms, NEWEST, file))),
    )
  }
  mkdirSync(at('station/log'))
  writeFileSync(at('station/log/station.1.log'), '{"msg":"opened http://x/#token=abcdef"}\n')
  // Today's form first, where the kept one is older.
  stillpoint('sessions', '--rebuild', '--data', at('station'))
}, 60_000)
afterAll(() => rmSync(base, { recursive: true, force: true }))

describe('the commands around a backup', () => {
  it('back a station up, say what is unchanged, and restore it into a new folder', () => {
    expect(stillpoint('backup', at('copies'), '--data', at('station')).stderr).toMatch(/disk connected/)
    const first = stillpoint('backup', at('copies'), '--data', at('station'), '--make')
    expect(first.stdout).toMatch(/1 session copied and verified, 0 unchanged/)
    expect(stillpoint('backup', at('copies'), '--data', at('station')).stdout).toMatch(
      /0 sessions copied .*1 unchanged/,
    )
    const restored = stillpoint('restore', at('copies'), '--data', at('moved'))
    expect(restored.stdout).toMatch(/1 session restored and verified, with the station's own records/)
    const list = (folder: string) => stillpoint('sessions', '--data', at(folder)).stdout
    expect(list('moved')).toBe(list('station'))
    expect(stillpoint('restore', at('copies'), '--data', at('moved'))).toMatchObject({ status: 1 })
  }, 60_000)

  it('name the way out of a lost station.db, which works', () => {
    rmSync(at('moved/station.db'))
    const refused = stillpoint('station', '--data', at('moved'), '--port', '0')
    expect(refused.status).toBe(1)
    const command = /stillpoint (sessions --rebuild) --data "(.+?)"/.exec(refused.stderr)!
    expect(stillpoint(...command[1]!.split(' '), '--data', command[2]!).stderr).toMatch(/1 session listed/)
  }, 60_000)

  it('tell of a station that does not start, and leave secrets out', () => {
    writeFileSync(
      at('station/station.db'),
      'not a database at all, and long enough to be looked at'.repeat(200),
    )
    const out = at('bundle.json.gz')
    expect(stillpoint('bundle', '--data', at('station'), '--out', out).status).toBe(0)
    const text = gunzipSync(readFileSync(out)).toString()
    const bundle = JSON.parse(text) as { station: string; sessions: { words: string }[]; log: string[] }
    expect(bundle.station).toMatch(/not a file of Stillpoint/)
    expect(bundle.sessions[0]!.words).toMatch(/\d+ readings, stopped-by-person/)
    expect(bundle.log[0]).toContain('token=(left out)')
    expect(text).not.toContain('abcdef')
  }, 60_000)
})
