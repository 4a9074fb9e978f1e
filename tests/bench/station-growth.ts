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
/** Channels painted, and the points of a picture. */
const PAINTED = 8
const BUCKETS = 1000
const HOUR_US = 3600e6

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
  readonly whole: number
  readonly point: number
}

/** What a station pays for a session of this length, ms each. `next` gives the scan that comes next. */
function costs(path: string, writing: SessionFile, next: () => NewReading[]): Costs {
  const opening = timed(() => openSessionFile(path, { mode: 'read' }).close())
  const reading = openSessionFile(path, { mode: 'read' })
  const toUtcUs = reading.since(reading.readingCount - 1, 1)[0]!.utcUs
  const paint = (fromUtcUs?: number) =>
    timed(() => {
      for (let i = 1; i <= PAINTED; i++)
        reading.overview({
          channel: `ch${i}`,
          buckets: BUCKETS,
          ...(fromUtcUs !== undefined && { fromUtcUs, toUtcUs }),
        })
    })
  const painting = paint(toUtcUs - HOUR_US)
  const whole = paint()
  reading.close()
  // As it is when one is taken: with its scan, and waiting for the disk.
  writing.database.pragma('synchronous = FULL')
  const point = timed(() => writing.commit({ readings: next(), points: [examplePoint] }))
  writing.database.pragma('synchronous = OFF')
  return { opening, painting, whole, point }
}

/** Three days of 96 channels, one reading a second each, fed at speed: what the last hour costs against the first. */
export function growthRows(): Row[] {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-growth-'))
  try {
    const path = join(folder, 'a.stillpoint')
    const writing = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
    // Fed at speed nobody waits for the disk; what is measured afterwards reads what is there.
    writing.database.pragma('synchronous = OFF')
    let tick = 0
    const next = () => scan(tick++, CHANNELS)
    const feedTo = (hours: number) => {
      while (tick < hours * SCANS) writing.commit({ readings: Array.from({ length: AT_ONCE }, next).flat() })
    }
    feedTo(1)
    const first = costs(path, writing, next)
    const from = performance.now()
    feedTo(HOURS)
    const fedS = (performance.now() - from) / 1000
    const last = costs(path, writing, next)
    writing.close()
    const note = `${((HOURS * SCANS * CHANNELS) / 1e6).toFixed(1)} M readings, ${(statSync(path).size / 1e6).toFixed(0)} MB, fed in ${fedS.toFixed(0)} s`
    const row = (key: keyof Costs, name: string, judged: boolean): Row => {
      const ratio = last[key] / first[key]
      return {
        name: `${name} after ${HOURS} h against after 1 h`,
        ours: last[key],
        other: first[key],
        unit: 'ms',
        ratio,
        goal: judged ? '<= 1.2 of it' : '',
        met: judged ? ratio <= 1.2 : null,
        note,
      }
    }
    return [
      row('opening', 'opening', true),
      row('painting', `painting the last hour of ${PAINTED} channels`, true),
      row('whole', `painting all of ${PAINTED} channels`, false),
      row('point', 'taking a point', true),
    ]
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}
