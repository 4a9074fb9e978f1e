import { join } from 'node:path'
import { describe, expect, it, onTestFinished } from 'vitest'
import { asTold } from '../../app/messages/said.ts'
import type { Reading } from '../../app/records/reading.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { Recorder } from '../../main/station/recorder.ts'
import { MOST_WAITING } from '../../main/station/waiting-readings.ts'
import { StoreError } from '../../main/store/errors.ts'
import { createSessionFile } from '../../main/store/session-file.ts'
import { exampleInfo, exampleSetup, START_UTC_US, scan, temporaryFolder } from '../store/example.ts'

function setUp() {
  const clock = new VirtualClock({ startUtcUs: START_UTC_US })
  const path = join(temporaryFolder(), 'x.stillpoint')
  const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock })
  const recorder = new Recorder(file, clock, 0, 0)
  const commits: number[] = []
  const commit = file.commit.bind(file)
  const disk = { full: false }
  file.commit = (batch) => {
    if (disk.full) throw new StoreError('disk-full', asTold('The disk is full.'))
    commits.push(clock.now().monoUs / 1000)
    return commit(batch)
  }
  const shown: Reading[] = []
  recorder.onDidStore.on((readings) => shown.push(...readings))
  onTestFinished(() => {
    recorder.close()
    file.close()
    clock.stop()
  })
  return { clock, file, recorder, commits, disk, shown }
}

describe('Recorder', () => {
  it('commits readings in groups at most 50 ms apart, and the first after a pause at once', async () => {
    const { clock, recorder, commits, shown } = setUp()
    for (let i = 0; i < 300; i++) {
      const [reading] = scan(i, 1)
      recorder.take({ ...reading!, monoUs: clock.now().monoUs })
      await clock.sleep(1)
      // Nobody waits longer than a group takes, and nobody sees a reading before its commit.
      const oldest = recorder.stored < i + 1 ? i - recorder.stored : 0
      expect(oldest).toBeLessThanOrEqual(51)
      expect(shown.length).toBe(recorder.stored)
    }
    expect(commits.length).toBeLessThanOrEqual(8)
    const apart = commits.slice(1).map((at, i) => at - commits[i]!)
    expect(Math.max(...apart)).toBeLessThanOrEqual(51)
    await clock.sleep(1_000)
    expect(shown).toHaveLength(300)
    recorder.take(scan(300, 1)[0]!)
    await clock.sleep(1)
    expect(shown).toHaveLength(301)
  })

  it('keeps readings in memory while the disk is full, up to a bound, and tells what it had to drop', async () => {
    const { clock, file, recorder, disk, shown } = setUp()
    disk.full = true
    const more = 25_000
    for (let i = 0; i < MOST_WAITING + more; i++) recorder.take(scan(i, 1)[0]!)
    await clock.sleep(60_000)
    expect([recorder.failing, shown.length]).toEqual([true, 0])
    disk.full = false
    // It recovers by itself.
    await clock.sleep(10_000)
    expect(recorder.failing).toBe(false)
    const dropped = 30_000
    expect(shown).toHaveLength(MOST_WAITING + more - dropped)
    const [gap, ...others] = file.events({ kinds: ['gap'] })
    expect(others).toEqual([])
    expect(gap).toMatchObject({
      data: {
        dropped,
        channels: [scan(0, 1)[0]!.channel],
        fromUtcUs: scan(0, 1)[0]!.utcUs,
        toUtcUs: scan(dropped - 1, 1)[0]!.utcUs,
      },
    })
    expect(gap!.words).toMatch(/^30000 readings from .* to .* could not be kept/)
    const [first, second] = file.since(0, 2)
    expect(first).toMatchObject({ utcUs: scan(dropped, 1)[0]!.utcUs, marks: ['gap-before'] })
    expect(second!.marks).toEqual([])
  }, 60_000)

  it('says after 10 s that the disk gives no answer, keeps what comes meanwhile, and recovers with the answer', async () => {
    const { clock, file, recorder, shown } = setUp()
    const hand = file.hand.bind(file)
    let answer: (() => void) | undefined
    // What is handed over lies there until it is answered.
    file.hand = (batch, told) => {
      answer = () => hand(batch, told)
    }
    const said: string[] = []
    recorder.onDidFail.on((fault) => said.push((fault as StoreError).said.code))
    recorder.onDidRecover.on(() => said.push('recovered'))
    recorder.take(scan(0, 1)[0]!)
    await clock.sleep(9_900)
    expect(said).toEqual([])
    await clock.sleep(300)
    expect(said).toEqual(['disk-silent'])
    for (let i = 1; i < 50; i++) {
      recorder.take(scan(i, 1)[0]!)
      await clock.sleep(1_000)
    }
    // Told once, nothing shown, and nothing more handed over.
    expect([said.length, shown.length, recorder.failing]).toEqual([1, 0, true])
    file.hand = hand
    answer!()
    await clock.sleep(10_000)
    expect(said).toEqual(['disk-silent', 'recovered'])
    expect(shown.map(({ seq }) => seq)).toEqual(Array.from({ length: 50 }, (_, i) => i + 1))
    expect(file.events({ kinds: ['gap'] })).toEqual([])
  }, 60_000)

  it('loses nothing where the disk is full for a while', async () => {
    const { clock, file, recorder, disk } = setUp()
    for (let i = 0; i < 3_000; i++) {
      if (i === 500) disk.full = true
      if (i === 2_500) disk.full = false
      recorder.take(scan(i, 1)[0]!)
      await clock.sleep(10)
    }
    await clock.sleep(10_000)
    expect(file.lastSeq).toBe(3_000)
    expect(file.events()).toEqual([])
  }, 60_000)
})
