import { rmSync } from 'node:fs'
import { join } from 'node:path'
import { setTimeout as pause } from 'node:timers/promises'
import { describe, expect, it, onTestFinished } from 'vitest'
import { RealClock } from '../../main/station/clocks/real.ts'
import { Recorder } from '../../main/station/recorder.ts'
import { createSessionFile, type Outcome } from '../../main/store/session-file.ts'
import { openDatabase } from '../../main/store/sqlite.ts'
import { verifySession } from '../../main/store/verify.ts'
import { exampleClock, exampleEvent, exampleInfo, exampleSetup, scan, temporaryFolder } from './example.ts'

function setUp() {
  const path = join(temporaryFolder(), 'a.stillpoint')
  const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
  onTestFinished(async () => {
    await file.endThread()
    file.close()
  })
  const seqs: number[] = []
  const hand = (tick: number) =>
    new Promise<Outcome>((resolve) => {
      file.hand({ readings: scan(tick, 3) }, (outcome) => {
        if ('committed' in outcome) seqs.push(outcome.committed.lastSeq)
        resolve(outcome)
      })
    })
  return { path, file, seqs, hand }
}

/** Another connection that keeps the file from being written, as a disk that does not answer does. */
function holdDisk(path: string): () => void {
  const other = openDatabase(path, 'session', 'write')
  other.exec('BEGIN IMMEDIATE')
  return () => {
    other.exec('ROLLBACK')
    other.close()
  }
}

describe('SessionFile.hand', () => {
  it('tells of a batch when it is on the disk, and keeps the order with what is committed at once', async () => {
    const { path, file, seqs, hand } = setUp()
    await file.beginThread()
    let told = false
    const first = hand(0).then(() => {
      told = true
    })
    // What must be known at once waits for what was handed over before it.
    expect(file.commit({ events: [exampleEvent('at once')], readings: scan(1, 3) })).toMatchObject({
      firstSeq: 4,
      lastSeq: 6,
    })
    expect(seqs).toEqual([3])
    await first
    expect(told).toBe(true)
    for (let tick = 2; tick < 40; tick++) await hand(tick)
    expect(file.lastSeq).toBe(120)
    await file.endThread()
    file.finish('complete', 'done')
    const own = file.readings({ channel: 'ch1', most: 1000 })
    expect(own).toHaveLength(40)
    expect(verifySession(path)).toMatchObject({ whole: true, readings: 120 })
  })

  it('leaves the loop alone while the disk does not answer, and shows nothing before it has', async () => {
    const { path, file } = setUp()
    await file.beginThread()
    const recorder = new Recorder(file, new RealClock(), 0, 0)
    let shown = 0
    recorder.onDidStore.on((readings) => {
      shown += readings.length
    })
    const answer = holdDisk(path)
    for (let tick = 0; tick < 10; tick++) {
      for (const reading of scan(tick, 3)) recorder.take(reading)
      await pause(20)
    }
    expect([shown, file.lastSeq]).toEqual([0, 0])
    answer()
    while (shown < 30) await pause(5)
    expect(file.lastSeq).toBe(30)
    recorder.close()
  })

  it('refuses a batch that makes no sense, and goes on with the next', async () => {
    const { file, hand } = setUp()
    await file.beginThread()
    const [reading] = scan(0, 1)
    const wrong = await new Promise<Outcome>((resolve) => {
      file.hand({ readings: [{ ...reading!, channel: 'half \ud800' }] }, resolve)
    })
    expect(wrong).toMatchObject({ fault: { code: 'refused' } })
    expect(await hand(0)).toMatchObject({ committed: { firstSeq: 1, lastSeq: 3 } })
  })

  it('writes where it is where the thread cannot open the file', async () => {
    const { path, file, seqs, hand } = setUp()
    const begun = file.beginThread()
    // Named away before the thread has looked: on a system that lets an open file be.
    if (process.platform !== 'win32') rmSync(path)
    await begun
    await hand(0)
    expect(seqs).toEqual([3])
  })
})
