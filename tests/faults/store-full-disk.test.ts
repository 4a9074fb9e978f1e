import { execFileSync } from 'node:child_process'
import {
  closeSync,
  mkdirSync,
  openSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
  writeSync,
} from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it, onTestFinished } from 'vitest'
import { DiskReserve, freeBytes } from '../../main/store/disk.ts'
import { StoreError } from '../../main/store/errors.ts'
import { exportSession } from '../../main/store/export/export.ts'
import { createSessionFile, type SessionFile } from '../../main/store/session-file.ts'
import { verifySession } from '../../main/store/verify.ts'
import {
  exampleClock,
  exampleEvent,
  exampleInfo,
  exampleSetup,
  scan,
  temporaryFolder,
} from '../store/example.ts'

const CHANNELS = 8
/** Amounts of room left at which the disk is full: some with the tests, fifty in the long form. */
const POSITIONS = Number(process.env.STILLPOINT_POSITIONS ?? 10)

/** A disk of four megabytes that is gone when the test has ended; undefined where this user may not make one. */
function smallDisk(): string | undefined {
  const folder = join(temporaryFolder(), 'disk')
  mkdirSync(folder)
  try {
    execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=4m', 'tmpfs', folder], { stdio: 'ignore' })
  } catch {
    return undefined
  }
  onTestFinished(() => void execFileSync('umount', ['-l', folder]))
  return folder
}

function fill(folder: string, leave: number): () => void {
  const path = join(folder, 'filler')
  const fd = openSync(path, 'w')
  const block = Buffer.alloc(4096, 1)
  while (freeBytes(folder) > leave) {
    try {
      writeSync(fd, block)
    } catch {
      // Another page of the disk itself was taken meanwhile: it is as full as it gets.
      break
    }
  }
  closeSync(fd)
  return () => rmSync(path)
}

function commitUntilFull(file: SessionFile, from: number): number {
  for (let tick = from; ; tick++) {
    const before = { last: file.lastSeq, head: file.head(), channels: file.channels }
    try {
      file.commit({ readings: scan(tick, CHANNELS), runner: { tick } })
    } catch (fault) {
      expect(fault).toBeInstanceOf(StoreError)
      expect((fault as StoreError).code).toBe('disk-full')
      expect((fault as StoreError).message).toMatch(/disk of .* is full: nothing of this batch was written/)
      expect({ last: file.lastSeq, head: file.head(), channels: file.channels }).toEqual(before)
      return tick
    }
  }
}

describe('SessionFile.commit', () => {
  it('stops cleanly on a full disk, loses nothing shown, and goes on when there is room', {
    timeout: 20_000 + 2_000 * POSITIONS,
  }, (context) => {
    const folder = smallDisk()
    if (!folder) return context.skip('a small disk can be mounted by root only')
    for (let position = 0; position < POSITIONS; position++) {
      const path = join(folder, `s${position}.stillpoint`)
      const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
      let tick = 0
      while (tick < (position * 37) % 211) file.commit({ readings: scan(tick++, CHANNELS) })
      const reserve = new DiskReserve(folder, 256 * 1024)
      expect(reserve.hold()).toBe(true)
      const makeRoom = fill(folder, 4096 * (1 + position * 3))
      tick = commitUntilFull(file, tick)
      // The same batch again fails as cleanly.
      expect(commitUntilFull(file, tick)).toBe(tick)
      reserve.release()
      const { firstEvent } = file.commit({
        events: [{ ...exampleEvent('The disk is full.'), kind: 'alarm' }],
      })
      expect(file.events({ after: firstEvent - 1 })[0]!.words).toBe('The disk is full.')
      const stored = file.lastSeq
      expect(stored).toBe(tick * CHANNELS)
      makeRoom()
      for (let more = 0; more < 20; more++, tick++) file.commit({ readings: scan(tick, CHANNELS) })
      expect(file.since(0, 1e6).map(({ seq: _, ...r }) => r)).toEqual(
        Array.from({ length: tick }, (_, i) => scan(i, CHANNELS)).flat(),
      )
      file.close()
      expect(verifySession(path)).toMatchObject({ whole: true, readings: tick * CHANNELS })
      // Whoever only reads leaves an index beside the file.
      for (const suffix of ['', '-wal', '-shm']) rmSync(path + suffix, { force: true })
    }
  })
})

describe('exportSession', () => {
  it('leaves the old file untouched where the disk is full', async (context) => {
    const folder = smallDisk()
    if (!folder) return context.skip('a small disk can be mounted by root only')
    const path = join(temporaryFolder(), 'a.stillpoint')
    const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
    for (let tick = 0; tick < 1000; tick++) file.commit({ readings: scan(tick, CHANNELS) })
    file.close()
    for (const format of ['csv', 'jsonl', 'parquet', 'sqlite', 'sqlite-table'] as const) {
      const out = join(folder, `a.${format}`)
      writeFileSync(out, 'before')
      const makeRoom = fill(folder, 100_000)
      await expect(exportSession(path, { format, out, replace: true })).rejects.toMatchObject({
        code: 'disk-full',
      })
      expect(readFileSync(out, 'utf8')).toBe('before')
      expect(readdirSync(folder).filter((name) => name.includes('part'))).toEqual([])
      makeRoom()
      await exportSession(path, { format, out, replace: true })
      rmSync(out)
    }
  })
})
