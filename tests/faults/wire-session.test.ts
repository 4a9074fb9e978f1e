import { describe, expect, it } from 'vitest'
import type { Measured, Meter } from '../../app/instruments/faces.ts'
import { openLab } from '../drivers/lab.ts'

/** Two hours, three instruments read by turns, and what goes wrong when (s after the start). */
const SCRIPT = [
  { atS: 300, instrument: 'bridge', kind: 'silence' },
  { atS: 600, instrument: 'old-bridge', kind: 'late', byS: 2.2 },
  { atS: 900, instrument: 'meter', kind: 'half-line', keepBytes: 3 },
  { atS: 1200, instrument: 'bridge', kind: 'garbage', bytes: 40 },
  { atS: 1500, instrument: 'old-bridge', kind: 'wrong-terminator' },
  { atS: 1800, instrument: 'bridge', kind: 'error-in-queue', number: -310, text: 'System error' },
  { atS: 2100, instrument: 'old-bridge', kind: 'over-range' },
  { atS: 2400, instrument: 'meter', kind: 'not-a-number' },
  { atS: 2700, instrument: 'bridge', kind: 'connection-drop' },
  { atS: 3000, instrument: 'old-bridge', kind: 'port-vanish', forS: 120 },
  { atS: 3600, instrument: 'meter', kind: 'power-cut', forS: 60 },
  { atS: 4200, instrument: 'bridge', kind: 'power-cut', forS: 30, link: 'lost' },
  { atS: 4800, instrument: 'old-bridge', kind: 'doubled' },
  { atS: 5100, instrument: 'meter', kind: 'flood', bytes: 1_000_000 },
  { atS: 5400, instrument: 'bridge', kind: 'silence', forS: 90 },
  { atS: 6000, instrument: 'old-bridge', kind: 'nul' },
  { atS: 6600, instrument: 'bridge', kind: 'glued' },
] as const

const EVERY_S = 15

describe('a session of two hours with a fault every few minutes', () => {
  it('shows each as a mark at its time, and holds no value that was not sent', async () => {
    const bench = await openLab(8)
    const { clock, lab } = bench
    const startUs = clock.now().monoUs
    for (const order of SCRIPT) lab.fault({ ...order })
    const record = new Map<string, Measured[]>()
    const scan = async (id: string) => {
      const meter: Meter = bench.meter(id)
      const readings: Measured[] = []
      record.set(id, readings)
      await meter.open()
      let dueUs = startUs
      for (;;) {
        dueUs += EVERY_S * 1e6
        if ((dueUs - startUs) / 1e6 > 7200) return
        await clock.sleep(Math.max(0, (dueUs - clock.now().monoUs) / 1000))
        readings.push(await meter.measure({ input: 2, currentMa: 1, average: 2 }))
      }
    }
    await Promise.all(['bridge', 'old-bridge', 'meter'].map(scan))

    for (const order of SCRIPT) {
      const fromUs = startUs + order.atS * 1e6
      const untilUs = fromUs + (('forS' in order ? order.forS : 0) + 2 * EVERY_S) * 1e6
      const near = record
        .get(order.instrument)!
        .filter((each) => each.at.monoUs >= fromUs && each.at.monoUs <= untilUs)
      expect([order.kind, near.some((each) => each.marks.length > 0)]).toEqual([order.kind, true])
    }
    for (const [id, readings] of record) {
      expect(readings.length).toBeGreaterThan(450)
      const traffic = bench.traffic.get(id)!.filter((line) => line.direction === 'received')
      for (const { value, at, marks, raw } of readings) {
        if (value === undefined) expect(marks.length).toBeGreaterThan(0)
        else {
          expect(raw).toContain(value)
          expect(traffic.some((line) => line.at.monoUs <= at.monoUs && line.text.includes(value))).toBe(true)
        }
      }
      // Marks stand where something went wrong, and nowhere else.
      const orders = SCRIPT.filter((order) => order.instrument === id)
      const stray = readings.filter((each) => {
        const s = (each.at.monoUs - startUs) / 1e6
        const explained = orders.some(
          (order) => s >= order.atS && s <= order.atS + ('forS' in order ? order.forS : 0) + 4 * EVERY_S,
        )
        return each.marks.length > 0 && !explained
      })
      expect(stray).toEqual([])
    }
    await bench.close()
  }, 60_000)
})
