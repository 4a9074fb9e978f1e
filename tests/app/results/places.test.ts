import { describe, expect, it } from 'vitest'
import { type Exchange, placesChanged, placesWide } from '../../../app/results/places.ts'
import { quickNight } from '../../soak/hostile/night.ts'

/** An exchange that found places so far from the first one, mK, each with an error of its own. */
function exchange(celsius: number, offsets: readonly number[], uMk: number): Exchange {
  const places = offsets.map((_, i) => `place ${i + 1}`)
  return {
    celsius,
    points: [`p${celsius}`, `p${celsius}-exchanged`],
    places,
    offsetMk: new Map(offsets.map((mk, i) => [places[i]!, mk])),
    modesMk: new Map(places.map((p, i) => [p, places.map((_, k) => (i > 0 && k === i ? uMk : 0))])),
  }
}

const typed = (uMk: number) => ({ uMk: () => uMk, degreesOfFreedom: Number.POSITIVE_INFINITY })

describe('the places that an exchange found', () => {
  it('are held against what is stated of the bath: the furthest one beyond it is named, with where and by how much', () => {
    const found = placesWide([exchange(15, [0, 1, -9, 2], 0.5)], typed(1.5), 0.01)!
    expect(found).toMatchObject({ place: 'place 3', against: 'place 1', celsius: 15, offsetMk: -9 })
    expect(found.statedMk).toBe(1.5)
    expect(found.uMk).toBeCloseTo(0.5, 9)
    expect(placesWide([exchange(15, [0, 1, -9, 2], 0.5)], typed(5), 0.01)).toBeNull()
  })

  it('are looked at together: the more of them, the further one has to be', () => {
    // Normal quantiles (tables): 2.576 for one look at 1 %, 3.227 for eight looks at 1/800 each.
    const one = exchange(15, [0, 2.9], 0)
    const many = [exchange(15, [0, 2.9, 0, 0, 0], 0), exchange(95, [0, 0, 0, 0, 0], 0)]
    expect(placesWide([one], typed(1), 0.01)).not.toBeNull()
    expect(placesWide(many, typed(1), 0.01)).toBeNull()
    expect(placesWide([exchange(15, [0, 3.25, 0, 0, 0], 0), many[1]!], typed(1), 0.01)).not.toBeNull()
  })

  it('have Student’s t where a survey of few degrees of freedom stands behind the figure', () => {
    const found = [exchange(15, [0, 4], 0)]
    expect(placesWide(found, { uMk: () => 1, degreesOfFreedom: 3 }, 0.01)).toBeNull()
    // t of 3 degrees of freedom at 99 %: 5.84 (JCGM 100:2008, table G.2).
    expect(
      placesWide([exchange(15, [0, 5.9], 0)], { uMk: () => 1, degreesOfFreedom: 3 }, 0.01),
    ).not.toBeNull()
  })

  it('are held against the reference’s own place also where the reference stood elsewhere at first', () => {
    const second: Exchange = {
      ...exchange(95, [0, -2, 2], 0),
      places: ['place 2', 'place 1', 'place 3'],
      offsetMk: new Map([
        ['place 2', 0],
        ['place 1', -2],
        ['place 3', 2],
      ]),
    }
    const found = placesWide([exchange(15, [0, 2, 4], 0), second], typed(1), 0.01)!
    expect(found).toMatchObject({ place: 'place 3', against: 'place 1', offsetMk: 4 })
  })

  it('say nothing where the bench states nothing', () => {
    expect(placesWide([exchange(15, [0, 50], 0.5)], typed(0), 0.01)).toBeNull()
  })

  it('count as changed beyond chi-squared of all of them, shared by all pairs of exchanges', () => {
    // One change of two places: chi-squared is 9 with one degree of freedom; 6.63 at 1 %, 8.6 for three pairs.
    const still = exchange(15, [0, 0], 1)
    const apart = (z: number) => exchange(95, [0, z * Math.SQRT2], 1)
    expect(placesChanged([still, apart(2.5)], 0.01)).toBeNull()
    expect(placesChanged([still, apart(2.7)], 0.01)).not.toBeNull()
    expect(placesChanged([still, apart(2.7), exchange(55, [0, 1.9], 1)], 0.01)).toBeNull()
    expect(placesChanged([still, apart(3.1), exchange(55, [0, 1.9], 1)], 0.01)).not.toBeNull()
    expect(placesChanged([still], 0.01)).toBeNull()
  })
})

describe('a night of the quick lab', () => {
  it('has a faster lane read on until the slowest is done, as the station does', () => {
    const { input } = quickNight({ kind: 'none', order: 'symmetric', seed: 5 })
    const point = input.points.find((p) => p.id === 'p3')!
    const of = (id: string) => point.channels.find((c) => c.channel === id)!
    expect(of('couple').n).toBeGreaterThan(20)
    expect(of('couple').lastSeq).toBeGreaterThan(of('thermistor').lastSeq)
    expect(of('sprt').n).toBe(6)
  })
})
