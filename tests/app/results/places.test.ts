import { describe, expect, it } from 'vitest'
import { analyse } from '../../../app/results/analysis.ts'
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
    errors: places.map((channel) => ({
      point: `p${celsius}`,
      channel,
      uMk,
      degreesOfFreedom: Number.POSITIVE_INFINITY,
    })),
    parts: new Map(places.map((p, i) => [p, places.map((_, k) => (i > 0 && k === i ? 1 : 0))])),
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

  it('have to change by more where few readings tell how well they are known', () => {
    const known = (e: Exchange, degreesOfFreedom: number): Exchange => ({
      ...e,
      errors: e.errors.map((one) => ({ ...one, degreesOfFreedom })),
    })
    const [still, apart] = [exchange(15, [0, 0], 1), exchange(95, [0, 3.1 * Math.SQRT2], 1)]
    expect(placesChanged([still, apart], 0.01)).not.toBeNull()
    // One change is Student's t: 3.17 at 99 % for 10 degrees of freedom (JCGM 100:2008, table G.2).
    expect(placesChanged([known(still, 10), known(apart, 10)], 0.01)).toBeNull()
    const further = exchange(95, [0, 3.2 * Math.SQRT2], 1)
    expect(placesChanged([known(still, 10), known(further, 10)], 0.01)).not.toBeNull()
  })
})

describe('an error of a reading in an exchange', () => {
  /** How (reference less thermometer under test) moves at every point of the PRT, mK, when one reading of a channel is off by 1 mK. */
  const movedBy = (channel: string, point: string): number[] => {
    const { input } = quickNight({ kind: 'none', order: 'symmetric', seed: 5 })
    const options = { monteCarloTrials: 0, interpolationStepK: 1000, bandSteps: 0 }
    const of = (points: typeof input.points) => {
      const { pairs } = analyse({ ...input, points, options }).thermometers.find(
        (t) => t.record.channel.id === 'prt',
      )!.fit!
      return pairs.map((p) => (p.referenceC - fit!.prepared.toTemperature(p.underTest.signal).value) * 1e3)
    }
    const off = input.points.map((p) =>
      p.id !== point
        ? p
        : {
            ...p,
            channels: p.channels.map((c) => {
              if (c.channel !== channel) return c
              const perK = { prt: 0.00365, sprt: 0.00375 }[channel]!
              const by = 1 + 1e-3 * perK
              const signals = { signal: c.signal! * by, signalZeroCurrent: c.signalZeroCurrent! * by }
              return { ...c, ...signals, rawMean: c.rawMean * by }
            }),
          },
    )
    const [before, after] = [of(input.points), of(off)]
    return after.map((mk, i) => mk - before[i]!)
  }
  const night = quickNight({ kind: 'none', order: 'symmetric', seed: 5 }).input
  const { fit } = analyse({ ...night, options: { monteCarloTrials: 0 } }).thermometers.find(
    (t) => t.record.channel.id === 'prt',
  )!
  const places = fit!.pairs.map((p) => p.references[0]!.places!)
  const partOf = (channel: string, point: string) =>
    places.map((at) => at.errors.find((e) => e.channel === channel && e.point === point)?.part ?? 0)

  it('goes on through the offsets to every point as the budget says, and stands at its own point as well', () => {
    expect(Math.max(...partOf('sprt', 'p1').map(Math.abs))).toBeGreaterThan(0.2)
    for (const channel of ['sprt', 'prt']) {
      const parts = partOf(channel, 'p1')
      const found = movedBy(channel, 'p1')
      const own = channel === 'prt' ? 1 : 0
      const expected = parts.map((part, i) => part - (fit!.pairs[i]!.point === 'p1' ? own : 0))
      const scale =
        found.reduce((sum, f, i) => sum + f * expected[i]!, 0) / expected.reduce((s, e) => s + e * e, 0)
      // A reading off by so much of itself is 1 mK by the slope near 15 degC; what counts is that all points agree.
      expect(scale).toBeGreaterThan(0.85)
      expect(scale).toBeLessThan(1.15)
      found.forEach((f, i) => {
        expect(f).toBeCloseTo(scale * expected[i]!, 2)
      })
    }
  })

  it('is one error: the two points between which thermometers changed places are not two that are free of each other', () => {
    const noise = fit!.sources.filter((s) => s.component === 'noise-under-test')
    const own = noise.filter((s) => s.correlation.kind === 'common')
    expect(own).toHaveLength(4)
    const [i, j] = ['p1', 'p1-exchanged'].map((id) => fit!.pairs.findIndex((p) => p.point === id)) as [
      number,
      number,
    ]
    // Nothing is left over between them: what the offsets take up is the same at both.
    for (const { temperatureMk } of own) expect(temperatureMk[i]).toBeCloseTo(temperatureMk[j]!, 6)
    expect(noise.find((s) => s.correlation.kind === 'independent')!.temperatureMk[i]).toBe(0)
  })
})

describe('what the bath moves at a place while a point is taken', () => {
  const { input } = quickNight({ kind: 'none', order: 'symmetric', seed: 5 })
  const { thermometers } = analyse({ ...input, options: { monteCarloTrials: 0 } })
  const stated = input.setup.bench.bath!.stabilityMk
  const half = stated * Math.SQRT1_2
  const at = (of: (typeof thermometers)[number], isShared: boolean) => {
    const i = of.fit!.pairs.findIndex((p) => p.point === 'p3')
    const own = of.fit!.sources.filter(
      (s) => s.component === 'bath-stability' && (s.shared ?? false) === isShared,
    )
    return Math.hypot(...own.filter((s) => s.correlation.kind !== 'common').map((s) => s.temperatureMk[i]!))
  }

  it('counts whole at the place of each thermometer under test', () => {
    for (const t of thermometers) expect(at(t, false)).toBeCloseTo(half, 9)
  })

  it('counts once at the place of the reference: what the scatter of its readings shows of it does not stand beside it', () => {
    for (const t of thermometers) {
      const { noiseMk } = t.fit!.pairs.find((p) => p.point === 'p3')!.references[0]!
      expect(noiseMk).toBeGreaterThan(0.05)
      expect(Math.hypot(at(t, true), noiseMk)).toBeCloseTo(Math.max(half, noiseMk), 6)
    }
  })

  it('is one error of all thermometers at the place of the reference, so that it passes for no common mode', () => {
    for (const { fit } of thermometers) {
      const i = fit!.pairs.findIndex((p) => p.point === 'p3')
      expect(fit!.expectedResidual(i).sharedMk).toBeGreaterThan(0.5 * half)
    }
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
