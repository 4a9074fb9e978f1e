import { spawnSync } from 'node:child_process'
import { chmodSync, chownSync, existsSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'
import { createSessionFile, openSessionFile } from '../../main/store/session-file.ts'
import { verifySession } from '../../main/store/verify.ts'
import { exampleClock, exampleInfo, exampleSetup, scan, temporaryFolder } from '../store/example.ts'

/** Instants at which each error begins: a few with the tests, dozens in the long form. */
const INSTANTS = Number(process.env.STILLPOINT_WRITE_ERRORS ?? 2)
const CHANNELS = 4
const SCANS = 80
const WRITER = join(import.meta.dirname, 'store-writer.ts')

interface Told {
  /** Last seq that was said to be stored. */
  said: number
  /** Codes of commits that failed. */
  failed: string[]
}

function toldBy(stdout: string): Told {
  const lines = stdout.trimEnd().split('\n')
  return {
    said: Number(lines.findLast((line) => /^\d/.test(line)) ?? 0),
    failed: lines.flatMap((line) => (line.startsWith('!') ? [line.slice(1)] : [])),
  }
}

const fresh = (folder: string) => {
  const path = join(folder, 'a.stillpoint')
  createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() }).close()
  return path
}

/** Runs the writer with calls to its session's files made to fail, as `strace` orders it. */
function writeFailing(path: string, inject: string, where: 'here' | 'thread'): Told {
  const { stdout, status } = spawnSync(
    'strace',
    [
      ...['-f', '-qq', '-o', '/dev/null', '-P', path, '-P', `${path}-wal`, '-e', `inject=${inject}`],
      ...[process.execPath, WRITER, path, String(CHANNELS), String(SCANS), 'FULL', '40', where],
    ],
    { encoding: 'utf8' },
  )
  expect(status, inject).toBe(0)
  return toldBy(stdout)
}

/** Opens what is left as a station does, and expects every reading that was said to be there, once, and no half scan. */
function expectKept(path: string, said: number, what: string): number {
  const file = openSessionFile(path, { mode: 'write', clock: exampleClock() })
  const count = file.readingCount
  expect(count, what).toBeGreaterThanOrEqual(said)
  expect(count % CHANNELS, what).toBe(0)
  expect(
    file.since(0, 1e6).map(({ seq: _, ...reading }) => reading),
    what,
  ).toEqual(Array.from({ length: count / CHANNELS }, (_, tick) => scan(tick, CHANNELS)).flat())
  file.close()
  expect(verifySession(path), what).toMatchObject({ whole: true, readings: count })
  return count
}

/** The call that fails, with what, and whether it goes on failing. */
const ERRORS = [
  { call: 'pwrite64', error: 'EIO', every: '+29', code: 'input-output' },
  { call: 'fsync', error: 'EIO', every: '+7', code: 'input-output' },
  { call: 'pwrite64', error: 'ENOSPC', every: '+31', code: 'disk-full' },
  // The system has made the disk read-only under the running station.
  { call: 'pwrite64', error: 'EROFS', every: '+1', code: 'input-output' },
] as const

describe('SessionFile.commit', () => {
  for (const { call, error, every, code } of ERRORS)
    it(`says of ${error} from ${call} that nothing was stored, keeps all it said was, and goes on where it can`, {
      timeout: 60_000 + 20_000 * INSTANTS,
    }, (context) => {
      if (spawnSync('strace', ['-V'], { stdio: 'ignore' }).status !== 0)
        return context.skip('strace is not installed here')
      for (let instant = 0; instant < INSTANTS; instant++) {
        const path = fresh(temporaryFolder())
        // A run of the writer syncs some ninety times.
        const from = call === 'fsync' ? 5 + ((13 * instant) % 70) : 40 + 13 * instant
        const what = `${error} at call ${from}`
        const { said, failed } = writeFailing(
          path,
          `${call}:error=${error}:when=${from}${every}`,
          instant % 2 === 0 ? 'thread' : 'here',
        )
        expect(new Set(failed), what).toEqual(new Set([code]))
        const kept = expectKept(path, said, what)
        if (every === '+1') expect(kept, what).toBeLessThan(SCANS * CHANNELS)
        else expect(said, what).toBe(SCANS * CHANNELS)
      }
    })
})

/** Somebody with no special rights, for whom a folder's rights mean something. */
const NOBODY = 65_534

describe('a folder whose rights are taken away', () => {
  it('lets a session that is open go on, and its readings be read', { timeout: 60_000 }, (context) => {
    if (process.getuid?.() !== 0) return context.skip('only root can run the writer as somebody else')
    const folder = temporaryFolder()
    const path = fresh(folder)
    const ended = join(folder, 'ended.stillpoint')
    const file = createSessionFile(ended, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
    file.commit({ readings: scan(0, CHANNELS) })
    file.finish('complete', 'done')
    file.close()
    for (const item of [folder, path, ended]) chownSync(item, NOBODY, NOBODY)
    const as = { uid: NOBODY, gid: NOBODY, encoding: 'utf8' } as const
    // The child itself takes the rights away half-way, so that the instant is the same each time.
    const child = spawnSync(
      process.execPath,
      [fileURLToPath(new URL('./store-in-locked-folder.ts', import.meta.url)), path, String(CHANNELS), ended],
      as,
    )
    if (child.error) return context.skip('nobody may not run this Node')
    if (/EACCES.*node_modules|Cannot find (module|package)/.test(child.stderr))
      return context.skip('nobody may not read this checkout')
    expect(child.stderr).toBe('')
    const { said, failed, again } = JSON.parse(child.stdout) as {
      said: number
      failed: string[]
      again: Record<string, unknown>
    }
    expect(failed).toEqual([])
    expect(said).toBe(40 * CHANNELS)
    expect(again).toEqual({
      readings: said,
      whole: true,
      write: 'done',
      create: 'input-output',
      ended: 'done',
      writeEnded: 'read-only',
    })
    chmodSync(folder, 0o700)
    expect(existsSync(path)).toBe(true)
    expectKept(path, said, 'after the rights came back')
  })
})
