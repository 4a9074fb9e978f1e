import { expect, it } from 'vitest'
import { Track } from '../../../app/live/track.ts'
import { seededRandom } from '../../../app/statistics/random.ts'

it('holds what a list would hold of the last while, however long it goes on', () => {
  const random = seededRandom(7)
  const track = new Track(60)
  const list: { t: number; c: number; counts: boolean }[] = []
  let [t, pushed] = [0, 0]
  for (let step = 0; step < 20_000; step++) {
    t += 0.05 + 0.1 * random.uniform()
    const one = {
      t,
      c: random.uniform() < 0.01 ? Number.NaN : 20 + random.normal(),
      counts: random.uniform() > 0.1,
    }
    track.push(one.t, one.c, one.counts)
    list.push(one)
    pushed += 1
    // Forgotten a quarter late, and then down to what is kept.
    if (t - list[0]!.t > 75)
      list.splice(
        0,
        list.findIndex((old) => old.t >= t - 60),
      )
    if (step % 97 !== 0) continue
    expect(track.length).toBe(list.length)
    expect(track.forgotten).toBe(pushed - list.length)
    expect(Array.from(track.timesS)).toEqual(list.map((old) => old.t))
    expect(Array.from(track.celsius)).toEqual(list.map((old) => old.c))
    expect(Array.from(track.counts)).toEqual(list.map((old) => (old.counts ? 1 : 0)))
    const counting = list.filter((old) => old.counts && Number.isFinite(old.c)).slice(-5)
    expect(track.lastCounting(5)).toEqual({
      times: counting.map((old) => old.t),
      values: counting.map((old) => old.c),
    })
  }
  expect(track.forgotten).toBeGreaterThan(10_000)
})

it('shows each reading once it is there, beside what was looked at before', () => {
  const track = new Track(10)
  track.push(1, 20, true)
  const before = track.timesS
  expect(before).toHaveLength(1)
  track.push(2, 21, false)
  expect(Array.from(track.timesS)).toEqual([1, 2])
  expect(before).toHaveLength(1)
})
