import { type ChildProcess, spawn, spawnSync } from 'node:child_process'
import { once } from 'node:events'
import { closeSync, fstatSync, mkdtempSync, openSync, readFileSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, it, vi } from 'vitest'
import { ensurePage } from '../../main/host/built.ts'

const cli = join(import.meta.dirname, '../../main/host/cli.ts')
let folder: string
let station: ChildProcess | undefined
const said = () => readFileSync(join(folder, 'journal'), 'utf8')

beforeEach(() => {
  ensurePage()
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-stop-'))
}, 120_000)
afterEach(() => {
  station?.kill('SIGKILL')
  station = undefined
  rmSync(folder, { recursive: true, force: true })
})

const stop = (...more: string[]) =>
  spawnSync(process.execPath, [cli, 'stop', '--data', folder, ...more], { encoding: 'utf8' })

async function start(...more: string[]): Promise<ChildProcess> {
  // What it prints goes into a file that the environment names as the system's journal.
  const journal = openSync(join(folder, 'journal'), 'w')
  const { dev, ino } = fstatSync(journal)
  const child = spawn(process.execPath, [cli, 'station', '--data', folder, '--port', '0', ...more], {
    stdio: ['ignore', journal, journal],
    env: { ...process.env, JOURNAL_STREAM: `${dev}:${ino}` },
  })
  closeSync(journal)
  station = child
  await vi.waitFor(() => expect(said()).toMatch(/End it with Ctrl-C/), { timeout: 60_000, interval: 200 })
  return child
}

it('ends a running station in order, and says so where none runs', async () => {
  const child = await start()
  const ended = once(child, 'exit')
  expect(stop()).toMatchObject({ status: 0, stdout: 'The station has ended.\n' })
  expect(await ended).toEqual([0, null])
  expect(stop().status).toBe(1)
  expect(stop().stderr).toMatch(/no station runs on .*--data/)
  // What the system's journal keeps names no key.
  expect(said()).not.toMatch(/token=/)
  const keys = join(folder, 'page-key.txt')
  expect(readFileSync(keys, 'utf8')).toMatch(/token=/)
  if (process.platform !== 'win32') expect(statSync(keys).mode & 0o777).toBe(0o600)
}, 90_000)

it('ends the one that looks after a station as well', async () => {
  const child = await start('--watchdog')
  const ended = once(child, 'exit')
  expect(stop().status).toBe(0)
  expect(await ended).toEqual([0, null])
}, 90_000)
