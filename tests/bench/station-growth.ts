import { mkdtempSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { NewReading } from '../../app/records/reading.ts'
import { createSessionFile, openSessionFile, type SessionFile } from '../../main/store/session-file.ts'
import { exampleClock, exampleInfo, examplePoint, exampleSetup, scan } from '../store/example-data.ts'
import type { Row } from './row.ts'

const CHANNELS = 96
const HOURS = 72
/** Scans of an hour at one a second, and what is committed together while it is fed at speed. */
const SCANS = 3600
const AT_ONCE = 100
const TIMES = 15
/** Readings that a point looks back on: ten minutes. */
const POINT_S = 600

const median = (list: readonly number[]) => list.toSorted((a, b) => a - b)[list.length >> 1]!

function timed(work: () => void): number {
  const took = Array.from({ length: TIMES }, () => {
    const from = performance.now()
    work()
    return performance.now() - from
  })
  return median(took)
}

interface Costs {
  readonly opening: number
  readonly painting: number
  readonly point: number
}

/** What a station pays for a session of this length, ms each. */
function costs(path: string, writing: SessionFile): Costs {
  const channel = (i: number) => `ch${i + 1}`
  const opening = timed(() => openSessionFile(path, { mode: 'read' }).close())
  const reading = openSessionFile(path, { mode: 'read' })
  const painting = timed(() => {
    for (let i = 0; i < 8; i++) reading.overview({ channel: channel(i), buckets: 1000 })
  })
  reading.close()
  const last = writing.since(writing.readingCount - 1, 1)[0]!
  const point = timed(() => {
    for (let i = 0; i < 8; i++) writing.lastReadings(channel(i), POINT_S * 1e6, last.monoUs)
    writing.commit({ points: [examplePoint] })
  })
  return { opening, painting, point }
}

/** Three days of 96 channels, one reading a second each, fed at speed: what the last hour costs against the first. */
export function growthRows(): Row[] {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-growth-'))
  try {
    const path = join(folder, 'a.stillpoint')
    const writing = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
    // Fed at speed nobody waits for the disk; what is measured afterwards reads what is there.
    writing.database.pragma('synchronous = OFF')
    const feed = (fromHour: number, toHour: number) => {
      for (let tick = fromHour * SCANS; tick < toHour * SCANS; tick += AT_ONCE) {
        const readings: NewReading[] = []
        for (let i = tick; i < tick + AT_ONCE; i++) readings.push(...scan(i, CHANNELS))
        writing.commit({ readings })
      }
    }
    feed(0, 1)
    const first = costs(path, writing)
    const from = performance.now()
    feed(1, HOURS)
    const fedS = (performance.now() - from) / 1000
    const last = costs(path, writing)
    writing.close()
    const note = `${((HOURS * SCANS * CHANNELS) / 1e6).toFixed(1)} M readings, ${(statSync(path).size / 1e6).toFixed(0)} MB, fed in ${fedS.toFixed(0)} s`
    const names = {
      opening: 'opening',
      painting: 'painting eight channels',
      point: 'taking a point of eight channels',
    }
    return Object.entries(names).map(([key, name]) => {
      const [ours, other] = [last[key as keyof Costs], first[key as keyof Costs]]
      return {
        name: `${name} after ${HOURS} h against after 1 h`,
        ours,
        other,
        unit: 'ms',
        ratio: ours / other,
        goal: '<= 1.2 of it',
        met: ours / other <= 1.2,
        note,
      }
    })
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}
