import { describe, expect, it } from 'vitest'
import { isExcluded } from '../../app/records/mark.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import type { FaultOrder } from '../../simulator/faults/order.ts'
import { quiet } from '../../simulator/scenarios/quiet.ts'
import { openBox, planOf } from './box.ts'

/** Channels read one after the other without a pause: a repeated answer falls into the question for the next one. */
const eager = { ...quiet, channels: quiet.channels.map((c) => ({ ...c, settleMs: 0 })) }

const EVERY_S = 7
/** Each answer that is repeated comes again this much later, s. */
const repeats = (count: number): FaultOrder[] =>
  Array.from({ length: count }, (_, i) => ({
    kind: 'repeat',
    instrument: 'bridge',
    atS: 30 + EVERY_S * i,
    byS: 0.05 * (1 + (i % 30)),
    times: 1,
  }))

/** Ratios of the two thermometers in the room: nothing between them is either's. */
const isOwn: Record<string, (ratio: number) => boolean> = {
  ref: (ratio) => ratio > 0.2 && ratio < 0.4,
  'prt-a': (ratio) => ratio > 0.9 && ratio < 1.3,
}

describe('an instrument that repeats its answers', () => {
  it.each([
    ['without pauses between channels', eager],
    ['with its inputs let settle', quiet],
  ])('gives no value to the wrong channel unmarked, %s', async (_, scenario) => {
    const count = 120
    const box = await openBox({ scenario, faults: repeats(count) })
    try {
      const id = await box.station.record({ operator: 'Test' })
      await box.clock.sleep((60 + EVERY_S * count) * 1000)
      box.station.stop('Test')
      await box.station.finished
      const file = openSessionFile(box.store.sessionPath(id), { mode: 'read' })
      const readings = file.since(0, 1e6).filter((r) => r.channel !== 'bath')
      file.close()
      expect(box.lab.truth.faults.reduce((sum, f) => sum + f.hits.length, 0)).toBe(count)
      const good = readings.filter((r) => r.value !== null && !isExcluded(r.marks))
      expect(good.filter((r) => !isOwn[r.channel]!(Number(r.value)))).toEqual([])
      expect(good.length).toBeGreaterThan(100)
      expect(readings.filter((r) => r.marks.includes('doubtful-answer')).length).toBeGreaterThan(10)
    } finally {
      await box.close()
    }
  })

  it('has what is doubtful taken again within an order of reading', async () => {
    const plan = planOf([25], { cycles: 6, settling: { ...planOf([25]).settling, bandK: 50, holdS: 0 } })
    const box = await openBox({ scenario: eager })
    try {
      const accept = box.station.preview(plan).checks.map((c) => c.id)
      const id = await box.station.startPlan({ plan, operator: 'Test', accept })
      const run = box.station.session!
      while (run.runner!.state.phase !== 'measuring') await box.clock.sleep(200)
      // Within the order, and one answer only: a repeat of what clears the line would be taken with it.
      await box.clock.sleep(4_000)
      box.lab.fault({ kind: 'repeat', instrument: 'bridge', byS: 0.3, times: 1 })
      await box.station.finished
      const file = openSessionFile(box.store.sessionPath(id), { mode: 'read' })
      const [point] = file.points()
      const doubtful = file.since(0, 100_000).filter(({ marks }) => marks.includes('doubtful-answer'))
      file.close()
      const n = point!.channels.map((c) => c.n)
      // A symmetric order visits every channel twice a cycle.
      expect(Math.min(...n)).toBeGreaterThanOrEqual(12)
      // The point names those among its readings.
      const within = doubtful.filter((r) =>
        point!.readings!.some((p) => p.channel === r.channel && p.fromSeq <= r.seq && r.seq <= p.toSeq),
      )
      expect(within.length).toBeGreaterThan(0)
      const named = point!.channels.filter((c) => c.marks.includes('doubtful-answer')).map((c) => c.channel)
      expect(named.toSorted()).toEqual([...new Set(within.map((r) => r.channel))].toSorted())
    } finally {
      await box.close()
    }
  })
})
