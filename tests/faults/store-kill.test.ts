import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { copyFileSync, existsSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { describe, expect, it, onTestFinished } from 'vitest'
import { bringUpToDate } from '../../main/store/bring-up-to-date.ts'
import { createSessionFile, openSessionFile } from '../../main/store/session-file.ts'
import { verifySession } from '../../main/store/verify.ts'
import { exampleClock, exampleInfo, exampleSetup, scan, temporaryFolder } from '../store/example.ts'
import { OLD_SCANS, writeOldSession } from '../store/old-session.ts'

/** Kills per run: dozens with the tests, hundreds in the long form. */
const ROUNDS = Number(process.env.STILLPOINT_KILLS ?? 16)
const CHANNELS = 6

/** Lets the writer run for `ms` after its first word, kills it, and returns the last seq it said was stored. */
async function writeAndKill(path: string, ms: number, where: 'here' | 'thread'): Promise<number> {
  const child = spawn(
    process.execPath,
    [join(import.meta.dirname, 'store-writer.ts'), path, String(CHANNELS), '0', 'FULL', '1000', where],
    {
      stdio: ['ignore', 'pipe', 'pipe'],
    },
  )
  onTestFinished(() => void child.kill('SIGKILL'))
  let said = ''
  let complaint = ''
  child.stderr.on('data', (bytes: Buffer) => {
    complaint += bytes.toString()
  })
  child.stdout.on('data', (bytes: Buffer) => {
    said += bytes.toString()
  })
  const closed = once(child, 'close')
  await Promise.race([once(child.stdout, 'data'), closed])
  await new Promise((resolve) => setTimeout(resolve, ms))
  child.kill('SIGKILL')
  await closed
  expect(complaint, 'the writer ends by being killed').toBe('')
  return Number(said.slice(0, said.lastIndexOf('\n')).split('\n').at(-1))
}

describe('SessionFile.commit', () => {
  it(`loses no reading that was said to be stored over ${ROUNDS} kills at random instants`, {
    timeout: 60_000 + ROUNDS * 12_000,
  }, async () => {
    const path = join(temporaryFolder(), 'a.stillpoint')
    createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() }).close()
    let before = 0
    for (let round = 0; round < ROUNDS; round++) {
      const stored = await writeAndKill(path, Math.random() * 60, round % 2 === 0 ? 'thread' : 'here')
      expect(stored).toBeGreaterThan(before)
      const started = performance.now()
      const file = openSessionFile(path, { mode: 'write', clock: exampleClock() })
      const recoveryMs = performance.now() - started
      expect(file.readingCount).toBeGreaterThanOrEqual(stored)
      expect(file.readingCount % CHANNELS, 'no half scan').toBe(0)
      expect(recoveryMs).toBeLessThan(2000)
      const tick = file.readingCount / CHANNELS - 1
      expect(file.since(file.readingCount - CHANNELS, CHANNELS).map(({ seq: _, ...r }) => r)).toEqual(
        scan(tick, CHANNELS),
      )
      expect(file.runnerState()).toEqual({ tick })
      before = file.readingCount
      file.close()
    }
    expect(verifySession(path)).toMatchObject({ whole: true, readings: before })
  })
})

/** Starts the worker on a file and kills it a while after it has begun. */
async function workAndKill(
  what: 'copy' | 'migrate',
  path: string,
  target: string,
  ms: number,
): Promise<void> {
  const child = spawn(
    process.execPath,
    [fileURLToPath(new URL('./store-worker.ts', import.meta.url)), what, path, target],
    {
      stdio: ['ignore', 'pipe', 'ignore'],
    },
  )
  onTestFinished(() => void child.kill('SIGKILL'))
  const ended = once(child, 'close')
  await Promise.race([once(child.stdout, 'data'), ended])
  await Promise.race([new Promise((resolve) => setTimeout(resolve, ms)), ended])
  child.kill('SIGKILL')
  await ended
}

const SHORT_ROUNDS = Math.ceil(ROUNDS / 3)

describe('copySession', () => {
  it(`leaves a whole copy or none over ${SHORT_ROUNDS} kills`, {
    timeout: 60_000 + ROUNDS * 12_000,
  }, async () => {
    const folder = temporaryFolder()
    const path = join(folder, 'a.stillpoint')
    const target = join(folder, 'copy.stillpoint')
    const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
    for (let tick = 0; tick < 5000; tick += 100)
      file.commit({ readings: Array.from({ length: 100 }, (_, i) => scan(tick + i, CHANNELS)).flat() })
    for (let round = 0; round < SHORT_ROUNDS; round++) {
      await workAndKill('copy', path, target, Math.random() * 400)
      if (existsSync(target))
        expect(verifySession(target)).toMatchObject({ whole: true, readings: 5000 * CHANNELS })
    }
    file.close()
    expect(verifySession(path).whole).toBe(true)
  })
})

describe('bringUpToDate', () => {
  it(`leaves the old file or the new one, whole, over ${SHORT_ROUNDS} kills`, {
    timeout: 60_000 + ROUNDS * 12_000,
  }, async () => {
    const folder = temporaryFolder()
    const old = writeOldSession(folder, 1)
    const path = join(folder, 'a.stillpoint')
    for (let round = 0; round < SHORT_ROUNDS; round++) {
      rmSync(path, { force: true })
      copyFileSync(old, path)
      await workAndKill('migrate', path, '', Math.random() * 120)
      expect(verifySession(path)).toMatchObject({ whole: true, readings: 5 * OLD_SCANS })
      const file = openSessionFile(path, { mode: 'read' })
      if (file.version === 1) {
        file.close()
        bringUpToDate(path)
      } else file.close()
      const writing = openSessionFile(path, { mode: 'write', clock: exampleClock() })
      expect(writing.readingCount).toBe(5 * OLD_SCANS)
      writing.close()
    }
  })
})
