import { type ChildProcess, fork } from 'node:child_process'
import { once } from 'node:events'
import { globSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { RealClock } from '../../main/station/clocks/real.ts'
import { openStationStore } from '../../main/store/station-store.ts'

let folder: string
let child: ChildProcess | undefined
let portsClosed: number[]
let heard: { kind: string; words?: string; name?: string }[]

function startCore(...args: string[]): ChildProcess {
  heard = []
  child = fork(join(import.meta.dirname, '../../main/desktop/core-process.ts'), args, {
    execArgv: ['parent-port.mjs', 'planted-fault.mjs'].flatMap((name) => [
      '--import',
      join(import.meta.dirname, name),
    ]),
    stdio: ['ignore', 'ignore', 'ignore', 'ipc'],
    serialization: 'advanced',
  })
  portsClosed = []
  child.on('message', (sent: { message?: { kind: string }; portClosed?: number }) => {
    if (sent.message) heard.push(sent.message)
    if (sent.portClosed !== undefined) portsClosed.push(sent.portClosed)
  })
  return child
}
const say = (message: object) => child!.send({ message })
const kinds = () => heard.map(({ kind }) => kind)

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-core-'))
})
afterEach(() => {
  child?.kill('SIGKILL')
  rmSync(folder, { recursive: true, force: true })
})

describe('the core process', () => {
  it('asks for the mail password before it opens the station, answers pings, and ends when told', async () => {
    const core = startCore('--data', folder)
    await vi.waitFor(() => expect(kinds()).toEqual(['need-secret']), { timeout: 40_000 })
    say({ kind: 'ping', n: 1 })
    await vi.waitFor(() => expect(kinds()).toContain('pong'))
    expect(kinds()).not.toContain('ready')
    say({ kind: 'secret', name: 'smtp-password', value: null })
    await vi.waitFor(() => expect(kinds()).toContain('ready'), { timeout: 40_000 })
    say({ kind: 'stop' })
    expect(await once(core, 'exit')).toEqual([0, null])
    expect(kinds().at(-1)).toBe('stopped')
  }, 60_000)

  it('refuses in words a folder that another station holds, and leaves it as it is', async () => {
    const store = openStationStore(folder, { clock: new RealClock() })
    try {
      const core = startCore('--data', folder)
      await vi.waitFor(() => expect(kinds()).toEqual(['need-secret']), { timeout: 40_000 })
      say({ kind: 'secret', name: 'smtp-password', value: null })
      expect(await once(core, 'exit')).toEqual([1, null])
      expect(heard.at(-1)?.kind).toBe('refused')
      expect(heard.at(-1)?.words).toMatch(/station|folder/i)
      expect(store.sessions('', 1)).toEqual([])
    } finally {
      store.close()
    }
  }, 60_000)

  const ready = async () => {
    const core = startCore('--data', folder)
    await vi.waitFor(() => expect(kinds()).toEqual(['need-secret']), { timeout: 40_000 })
    say({ kind: 'secret', name: 'smtp-password', value: null })
    await vi.waitFor(() => expect(kinds()).toContain('ready'), { timeout: 40_000 })
    return core
  }

  it.each(['rejection', 'exception, and many more,'])(
    'ends within a second on a planted %s that nobody caught, with its reason in the log',
    async (what) => {
      const core = await ready()
      const from = performance.now()
      child!.send({ plant: what })
      expect(await once(core, 'exit')).toEqual([1, null])
      expect(performance.now() - from).toBeLessThan(1500)
      const log = globSync('log/*', { cwd: folder }).map((name) => readFileSync(join(folder, name), 'utf8'))
      expect(log.join('')).toContain('planted fault')
      expect(log.join('').match(/the station ends on a fault/g)).toHaveLength(1)
      // Nothing holds the folder any more, and what is in it is whole.
      const store = openStationStore(folder, { clock: new RealClock() })
      expect(store.verifyLedger().whole).toBe(true)
      store.close()
    },
    60_000,
  )

  it('goes on after whatever a window sends that is no call', async () => {
    await ready()
    for (const [id, data] of ['{', '', 'null', '{"i":"1"}', '[]'].entries()) {
      child!.send({ message: { kind: 'window' }, ports: [id] })
      child!.send({ port: id, data })
    }
    await vi.waitFor(() => expect(portsClosed).toEqual([0, 1, 2, 3, 4]))
    say({ kind: 'ping', n: 7 })
    await vi.waitFor(() => expect(heard.at(-1)).toMatchObject({ kind: 'pong', n: 7, silentS: 0 }))
    expect(child!.exitCode).toBeNull()
  }, 60_000)

  it('writes the password nowhere', async () => {
    const core = startCore('--data', folder)
    await vi.waitFor(() => expect(kinds()).toEqual(['need-secret']), { timeout: 40_000 })
    say({ kind: 'secret', name: 'smtp-password', value: 'a word for the mail server' })
    await vi.waitFor(() => expect(heard.map(({ name }) => name)).toContain('key-password'), {
      timeout: 40_000,
    })
    say({ kind: 'secret', name: 'key-password', value: 'a word for the signing key' })
    await vi.waitFor(() => expect(kinds()).toContain('ready'), { timeout: 40_000 })
    say({ kind: 'stop' })
    await once(core, 'exit')
    const files = globSync('**/*', { cwd: folder, withFileTypes: true }).filter((entry) => entry.isFile())
    expect(files.length).toBeGreaterThan(0)
    for (const { parentPath, name } of files)
      expect(readFileSync(join(parentPath, name)).includes('a word for the ')).toBe(false)
  }, 60_000)
})
