import { join } from 'node:path'
import Database from 'better-sqlite3'
import { expect, it, onTestFinished, vi } from 'vitest'
import { markBits } from '../../app/records/mark.ts'
import type { NewReading } from '../../app/records/reading.ts'
import { closeFiles, readerTasks } from '../../main/store/reader-tasks.ts'
import { renameWhole } from '../../main/store/rename-whole.ts'
import { createSessionFile } from '../../main/store/session-file.ts'
import { exampleClock, exampleInfo, exampleSetup, scan, temporaryFolder } from './example.ts'

const wanted = { throwIfAborted: () => undefined }

/** A session of some scans of two channels; every third reading of the first has no number. */
function session(path: string, scans: number): string {
  const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
  file.database.pragma('synchronous = OFF')
  file.commit({
    readings: Array.from({ length: scans }, (_, tick) =>
      scan(tick, 2).map(
        (reading, i): NewReading =>
          i === 0 && tick % 3 === 0
            ? { ...reading, raw: 'garbled', value: null, marks: ['garbled', 'late'] }
            : reading,
      ),
    ).flat(),
  })
  file.close()
  return path
}

const count = (path: string) =>
  readerTasks.overview(wanted, path, { channel: 'ch2', buckets: 1 }).n.reduce((sum, n) => sum + n, 0)

it('keeps a few files open and lets go of the oldest, and of all at the end', () => {
  const folder = temporaryFolder()
  const paths = [1, 2, 3, 4, 5].map((n) => session(join(folder, `${n}.stillpoint`), n))
  const closed = vi.spyOn(Database.prototype, 'close')
  onTestFinished(() => closed.mockRestore())
  const closedNow = () => {
    const names = closed.mock.contexts
      .map((db) => (db as Database.Database).name)
      .filter((name) => name.startsWith(folder))
    closed.mockClear()
    return names
  }
  expect(paths.slice(0, 4).map(count)).toEqual([1, 2, 3, 4])
  expect(paths.slice(0, 4).map(count)).toEqual([1, 2, 3, 4])
  expect(closedNow()).toEqual([])
  expect(count(paths[4]!)).toBe(5)
  expect(closedNow()).toEqual([paths[0]])
  closeFiles()
  expect(closedNow()).toEqual(paths.slice(1))
  closeFiles()
  expect(closedNow()).toEqual([])
  // And opens again what is asked for afterwards.
  expect(count(paths[0]!)).toBe(1)
  closeFiles()
})

// Windows gives no name to another file while somebody reads the one that has it.
it.skipIf(process.platform === 'win32')(
  'reads the file that has the name now, and not the one that had it',
  () => {
    const folder = temporaryFolder()
    const path = session(join(folder, 'a.stillpoint'), 3)
    onTestFinished(closeFiles)
    expect(count(path)).toBe(3)
    renameWhole(session(join(folder, 'b.stillpoint'), 7), path)
    expect(count(path)).toBe(7)
  },
)

it('gives the readings of a channel as columns, as many as are asked for, from the seq that is asked for', () => {
  const path = session(join(temporaryFolder(), 'a.stillpoint'), 20_010)
  onTestFinished(closeFiles)
  const of = (query: Parameters<typeof readerTasks.readings>[2]) => readerTasks.readings(wanted, path, query)
  const all = of({ channel: 'ch1', most: 1e6 })
  // Two readings a scan: those of the first channel have the odd numbers.
  expect(all.seq).toHaveLength(20_010)
  expect([all.seq[0], all.seq[19_999], all.seq[20_000], all.seq.at(-1)]).toEqual([1, 39_999, 40_001, 40_019])
  expect(all.unit).toBe('ratio')
  expect([all.raw[0], all.value[0], all.marks[0]]).toEqual([
    'garbled',
    Number.NaN,
    markBits(['garbled', 'late']),
  ])
  expect([all.value[1], all.marks[1]]).toEqual([Number(scan(1, 1)[0]!.value), 0])
  expect([all.utcUs[1]! - all.utcUs[0]!, all.monoUs[1]! - all.monoUs[0]!]).toEqual([1e6, 1e6])
  expect([...of({ channel: 'ch1', most: 3, fromSeq: 4 }).seq]).toEqual([5, 7, 9])
  expect(of({ channel: 'ch1', most: 20_003 }).seq).toHaveLength(20_003)
  expect(of({ channel: 'none', most: 10 })).toMatchObject({ unit: null, raw: [] })
})

it('looks before each page whether it is still wanted', () => {
  const path = session(join(temporaryFolder(), 'a.stillpoint'), 3)
  onTestFinished(closeFiles)
  const gone = {
    throwIfAborted: () => {
      throw new Error('no longer wanted')
    },
  }
  expect(() => readerTasks.readings(gone, path, { channel: 'ch1', most: 10 })).toThrow('no longer wanted')
})
