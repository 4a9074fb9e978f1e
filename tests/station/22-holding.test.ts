import { expect, it, onTestFinished } from 'vitest'
import type { Measured } from '../../app/instruments/faces.ts'
import type { Channel } from '../../app/records/bench.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { type Held, HOLD_MS, Holding, holdMs } from '../../main/station/holding.ts'

function holding() {
  const clock = new VirtualClock({ startUtcUs: 0 })
  onTestFinished(() => clock.stop())
  const stored: { ms: number; marks: readonly string[] }[] = []
  const held = new Holding<string>(clock, ({ measured }) =>
    stored.push({ ms: clock.now().monoUs / 1000, marks: measured.marks }),
  )
  const value = (namesInput: boolean): Held<string> => ({
    channel: { id: 'ch' } as Channel,
    measured: {
      raw: '1',
      value: '1',
      unit: 'ohm',
      marks: [],
      at: clock.now(),
      ...(namesInput && { namesInput: true }),
    } as Measured,
    currentMa: 1,
    discarded: false,
    stop: 'stop',
  })
  return { clock, stored, held, value }
}

it('holds a value whose channel only the question names for as long as instruments repeat themselves', async () => {
  const { clock, stored, held, value } = holding()
  const one = value(false)
  held.put(one, holdMs(one.measured, 5))
  await clock.sleep(HOLD_MS - 1)
  expect(stored).toEqual([])
  expect(held.doubt()).toBe('stop')
  await clock.sleep(2)
  expect(stored).toEqual([{ ms: HOLD_MS, marks: ['doubtful-answer'] }])
})

it('holds one that names its input only until the right one of this scan would have followed', async () => {
  const { clock, stored, held, value } = holding()
  const one = value(true)
  expect(holdMs(one.measured, 1)).toBe(20)
  expect(holdMs(one.measured, 50)).toBe(200)
  expect(holdMs(one.measured, 5_000)).toBe(HOLD_MS)
  held.put(one, holdMs(one.measured, 50))
  await clock.sleep(100)
  // The answer of the scan before came first, and the right one unasked after it.
  held.doubt()
  await clock.sleep(150)
  expect(stored).toEqual([{ ms: 200, marks: ['doubtful-answer'] }])
})

it('lets everybody go on who waits until nothing is held, and nobody wait where nothing is', async () => {
  const { held, value, stored } = holding()
  await held.emptied()
  held.put(value(false))
  const gone: string[] = []
  const waiting = ['one', 'two', 'three'].map((who) => held.emptied().then(() => gone.push(who)))
  await Promise.resolve()
  expect(gone).toEqual([])
  held.release()
  await Promise.all(waiting)
  expect(gone.toSorted()).toEqual(['one', 'three', 'two'])
  expect(stored).toHaveLength(1)
}, 2_000)

it('keeps a value that is doubted twice as one of the same stop, and has no doubt where there is no value', async () => {
  const { held, value, stored } = holding()
  expect(held.doubt()).toBeUndefined()
  const { value: _, ...measured } = value(false).measured
  held.put({ ...value(false), measured: measured as Measured })
  expect(held.doubt()).toBeUndefined()
  held.put(value(false))
  expect(held.doubt()).toBe('stop')
  expect(held.doubt()).toBeUndefined()
  held.release()
  held.release()
  expect(stored.map(({ marks }) => marks)).toEqual([[], ['doubtful-answer']])
})
