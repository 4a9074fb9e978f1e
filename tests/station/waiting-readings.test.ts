import { expect, it } from 'vitest'
import type { NewReading } from '../../app/records/reading.ts'
import { MOST_WAITING, WaitingReadings } from '../../main/station/waiting-readings.ts'
import { scan } from '../store/example.ts'

const [EXAMPLE] = scan(0, 1)
/** The n-th reading, a microsecond after the one before: two channels in turn. */
const reading = (n: number, channel = n % 2 === 0 ? 'even' : 'odd'): NewReading => ({
  ...EXAMPLE!,
  channel,
  utcUs: n,
  monoUs: n,
})

it('gives readings back in their order, also those that could not be stored', () => {
  const waiting = new WaitingReadings()
  for (let n = 0; n < 6; n++) waiting.add(reading(n))
  const taken = waiting.take(2)
  expect(taken.map(({ utcUs }) => utcUs)).toEqual([0, 1])
  expect(waiting.count).toBe(4)
  waiting.takeBack(taken)
  expect(waiting.take(10).map(({ utcUs }) => utcUs)).toEqual([0, 1, 2, 3, 4, 5])
  expect([waiting.count, waiting.takeDropped()]).toEqual([0, undefined])
})

it('drops a tenth of the oldest where there are too many, says which, and marks what is left of each channel once', () => {
  const waiting = new WaitingReadings()
  for (let n = 0; n < MOST_WAITING; n++) waiting.add(reading(n))
  expect([waiting.count, waiting.takeDropped()]).toEqual([MOST_WAITING, undefined])
  const tenth = MOST_WAITING / 10
  waiting.add(reading(MOST_WAITING, 'new'))
  const dropped = {
    count: tenth,
    fromUtcUs: 0,
    toUtcUs: tenth - 1,
    channels: new Set(['even', 'odd']),
  }
  expect(waiting.count).toBe(MOST_WAITING - tenth + 1)
  const told = waiting.takeDropped()!
  expect(told).toEqual(dropped)
  expect(waiting.takeDropped()).toBeUndefined()
  // It could not be told yet; meanwhile more were dropped: one stretch from the first to the last.
  waiting.putBack(told)
  for (let n = 1; n <= tenth; n++) waiting.add(reading(MOST_WAITING + n))
  expect(waiting.takeDropped()).toEqual({ ...dropped, count: 2 * tenth, toUtcUs: 2 * tenth - 1 })
  const left = waiting.take(MOST_WAITING)
  expect(left[0]!.utcUs).toBe(2 * tenth)
  const marked = left.filter(({ marks }) => marks.length > 0)
  expect(marked.map(({ utcUs, marks }) => [utcUs, ...marks])).toEqual([
    [2 * tenth, 'gap-before'],
    [2 * tenth + 1, 'gap-before'],
  ])
})
