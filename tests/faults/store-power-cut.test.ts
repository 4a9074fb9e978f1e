import { execFileSync, spawnSync } from 'node:child_process'
import { copyFileSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { createSessionFile, openSessionFile } from '../../main/store/session-file.ts'
import { verifySession } from '../../main/store/verify.ts'
import { exampleClock, exampleInfo, exampleSetup, temporaryFolder } from '../store/example.ts'
import { type Cut, cutsOf, type DiskEvent, readTrace } from './power-cut.ts'

/** Cuts per run: hundreds with the tests, ten thousand in the long form. */
const CUTS = Number(process.env.STILLPOINT_CUTS ?? 250)
const CHANNELS = 4
const SCANS = 120

function tracing(): string | undefined {
  const found = spawnSync('strace', ['-V'], { stdio: 'ignore' })
  return found.status === 0 ? undefined : 'strace is not installed here'
}

/** What the writer's system calls were while it stored `SCANS` scans, and the session's file before the first. */
function trace(
  folder: string,
  synchronous: 'FULL' | 'NORMAL',
  where: 'here' | 'thread' = 'here',
): { path: string; before: Buffer; events: DiskEvent[] } {
  const path = join(folder, 'a.stillpoint')
  createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() }).close()
  const before = readFileSync(path)
  const out = join(folder, 'trace.txt')
  const writer = join(import.meta.dirname, 'store-writer.ts')
  const calls = 'trace=pwrite64,write,fsync,fdatasync,ftruncate,unlink,unlinkat'
  execFileSync(
    'strace',
    [
      '-f',
      '-y',
      '-xx',
      '-s',
      '1000000',
      '-e',
      calls,
      '-o',
      out,
      process.execPath,
      writer,
      path,
      String(CHANNELS),
      String(SCANS),
      synchronous,
      '60',
      where,
    ],
    { stdio: ['ignore', 'pipe', 'ignore'], maxBuffer: 1e9 },
  )
  return { path, before, events: readTrace(readFileSync(out, 'latin1'), path) }
}

/** Puts the disk as a cut left it into a fresh folder and tells what a station finds there. */
function find(folder: string, { files }: Cut): { readings: number; whole: boolean } {
  rmSync(folder, { recursive: true, force: true })
  mkdirSync(folder)
  for (const [name, bytes] of files) writeFileSync(join(folder, name), bytes)
  const path = join(folder, 'a.stillpoint')
  const file = openSessionFile(path, { mode: 'write', clock: exampleClock() })
  const readings = file.readingCount
  expect(readings % CHANNELS, 'no half scan').toBe(0)
  file.close()
  return { readings, whole: verifySession(path).whole }
}

describe('SessionFile.commit', () => {
  for (const where of ['here', 'thread'] as const)
    it(`loses no reading that was said to be stored over ${CUTS / 2} power cuts, written ${where}`, {
      timeout: 120_000 + CUTS * 100,
    }, (context) => {
      const reason = tracing()
      if (reason) return context.skip(reason)
      const folder = temporaryFolder()
      const { before, events } = trace(folder, 'FULL', where)
      expect(events.filter(({ kind }) => kind === 'said')).toHaveLength(SCANS)
      expect(events.filter(({ kind }) => kind === 'sync').length).toBeGreaterThanOrEqual(SCANS)
      let cuts = 0
      for (const cut of cutsOf(events, { 'a.stillpoint': before }, CUTS / 2)) {
        const { readings, whole } = find(join(folder, 'cut'), cut)
        expect(readings, cut.words).toBeGreaterThanOrEqual(cut.said)
        expect(whole, cut.words).toBe(true)
        cuts++
      }
      expect(cuts).toBe(CUTS / 2)
    })

  it('would lose some if the log were not synced at each commit: the replay can see loss', {
    timeout: 120_000,
  }, (context) => {
    const reason = tracing()
    if (reason) return context.skip(reason)
    const folder = temporaryFolder()
    const { before, events } = trace(folder, 'NORMAL')
    let lost = 0
    for (const cut of cutsOf(events, { 'a.stillpoint': before }, 60))
      if (find(join(folder, 'cut'), cut).readings < cut.said) lost++
    expect(lost).toBeGreaterThan(10)
  })

  it('finds its file again after a cut and goes on in it', { timeout: 120_000 }, (context) => {
    const reason = tracing()
    if (reason) return context.skip(reason)
    const folder = temporaryFolder()
    const { path, before, events } = trace(folder, 'FULL')
    const last = [...cutsOf(events, { 'a.stillpoint': before }, 5)].at(-1)!
    find(join(folder, 'cut'), last)
    copyFileSync(join(folder, 'cut', 'a.stillpoint'), path)
    const file = openSessionFile(path, { mode: 'write', clock: exampleClock() })
    const { lastSeq } = file.commit({ readings: file.since(0, CHANNELS).map(({ seq: _, ...r }) => r) })
    expect(lastSeq).toBe(file.readingCount)
    file.close()
    expect(verifySession(path).whole).toBe(true)
  })
})
