import { describe, expect, it } from 'vitest'
import { buildChains } from '../../../app/live/chain.ts'
import { Curve } from '../../../app/live/curve.ts'
import { buildPoint } from '../../../app/live/point.ts'
import { selfHeatingOf } from '../../../app/live/self-heating-pair.ts'
import { Point } from '../../../app/records/point.ts'
import type { Reading } from '../../../app/records/reading.ts'
import { randomStream } from '../../../simulator/physics/randomness.ts'
import { BENCH, REGISTER, reading } from '../results/bench-fixture.ts'

const chains = buildChains({ bench: BENCH, register: REGISTER, date: '2025-07-01' })
const HEAD = {
  id: 'p',
  step: 0,
  setpointC: 50,
  label: null,
  kind: 'comparison',
  order: 'S X',
  cycles: 3,
  settled: true,
  reason: '',
  marks: [],
} as const
const ratioAt = (channel: string, celsius: number) => {
  const chain = chains.get(channel)!
  return chain.signalAt(celsius) / chain.resistor!.ohm
}

/** S X1 X1 S, three times, of a bath that follows `bath`; both thermometers feel it alike. */
function readings(bath: (t: number) => number, noiseK = 0, order = ['ref', 'x', 'x', 'ref']): Reading[] {
  const noise = randomStream(7, 'p')
  return Array.from({ length: 3 }, () => order)
    .flat()
    .map((channel, i) => {
      const t = i * 6
      // 2 mK at 25.5 ohm, in proportion to the resistance the current flows through.
      const heat = channel === 'ref' ? 0.002 * (chains.get('ref')!.signalAt(bath(t)) / 25.5) : 0
      return reading(
        i + 1,
        channel,
        t,
        ratioAt(channel, bath(t) + heat + noiseK * noise.normal()).toExponential(12),
      )
    })
}

describe('buildPoint', () => {
  it('is a point as the record has it, with the temperature the bath had', () => {
    const point = Point.parse(
      buildPoint({ bench: BENCH, chains, readings: readings(() => 50) }, { ...HEAD, marks: [] }),
    )
    const ref = point.channels.find((c) => c.channel === 'ref')!
    const x = point.channels.find((c) => c.channel === 'x')!
    expect(ref.t90C).toBeCloseTo(50, 6)
    expect(x.referenceC).toBeCloseTo(50, 6)
    // No calibration, no temperature: what is nominal never becomes a result.
    expect(x.t90C).toBeNull()
    expect(x.signal).toBeCloseTo(chains.get('x')!.signalAt(50), 8)
    expect([ref.n, ref.leftOut, ref.firstSeq, ref.lastSeq]).toEqual([6, 0, 1, 12])
  })

  it('keeps a steady drift of the bath out of the comparison', () => {
    const drift = (t: number) => 50 + (5e-3 / 60) * t
    const point = buildPoint({ bench: BENCH, chains, readings: readings(drift) }, { ...HEAD, marks: [] })
    const x = point.channels.find((c) => c.channel === 'x')!
    // The reference at the very times of the readings under test: a drift of 5 mK/min leaves less than a microkelvin.
    expect(chains.get('x')!.celsiusOfSignal(x.signal!, 1) - x.referenceC!).toBeCloseTo(0, 6)
    expect(x.driftMkPerMin).toBeCloseTo(5, 2)
  })

  it('needs the interpolation: an unsymmetric order would be off by the drift otherwise', () => {
    const drift = (t: number) => 50 + (5e-3 / 60) * t
    const point = buildPoint(
      { bench: BENCH, chains, readings: readings(drift, 0, ['ref', 'x', 'x', 'x']) },
      { ...HEAD, marks: [] },
    )
    const x = point.channels.find((c) => c.channel === 'x')!
    const ref = point.channels.find((c) => c.channel === 'ref')!
    const at = chains.get('x')!.celsiusOfSignal(x.signal!, 1)
    expect(Math.abs(at - ref.t90C!)).toBeGreaterThan(0.0008)
    expect(Math.abs(at - x.referenceC!)).toBeLessThan(0.0005)
  })

  it('leaves out what is marked, and a spike, and says how many', () => {
    const all = readings(() => 50, 0.0003)
    all[1] = { ...all[1]!, marks: ['late'] }
    all[6] = { ...all[6]!, value: (Number(all[6]!.value) * 1.001).toExponential(12) }
    const point = buildPoint({ bench: BENCH, chains, readings: all }, { ...HEAD, marks: [] })
    const x = point.channels.find((c) => c.channel === 'x')!
    expect([x.n, x.leftOut]).toEqual([4, 2])
    expect(x.marks).toEqual(expect.arrayContaining(['late', 'spike-suspected']))
    expect(x.signal).toBeCloseTo(chains.get('x')!.signalAt(50), 3)
  })

  it('leaves a single reading in a foreign unit out of the mean, as it is marked', () => {
    const all = readings(() => 50)
    const foreign = all.map((r, i) =>
      i === 5 ? { ...r, value: '0.000304', unit: 'V' as const, marks: ['wrong-unit' as const] } : r,
    )
    const of = (list: readonly Reading[]) =>
      buildPoint({ bench: BENCH, chains, readings: list }, { ...HEAD, marks: [] }).channels.find(
        (c) => c.channel === 'x',
      )!
    expect(all[5]!.channel).toBe('x')
    expect(of(foreign)).toMatchObject({ n: 5, leftOut: 1, rawUnit: 'ratio', marks: ['wrong-unit'] })
    expect(of(foreign).signal).toBeCloseTo(of(all).signal!, 8)
  })

  it('says which channel has not one reading that counts, and still keeps the others', () => {
    const all = readings(() => 50).map((r) =>
      r.channel === 'x' ? { ...r, value: null, marks: ['silent' as const] } : r,
    )
    const point = buildPoint({ bench: BENCH, chains, readings: all }, { ...HEAD, marks: [] })
    expect(point.channels.map((c) => c.channel)).toEqual(['ref'])
    expect(point.marks).toEqual(['no reading of PRT counts'])
    expect(() => buildPoint({ bench: BENCH, chains, readings: [] }, { ...HEAD, marks: [] })).toThrow(
      'at least one reading',
    )
  })

  it('follows the reference for a thermometer measured against it', () => {
    const all = readings(() => 50)
    const ohm = chains.get('x')!.signalAt(50)
    const refOhm = chains.get('ref')!.signalAt(50 + 0.002 * (chains.get('ref')!.signalAt(50) / 25.5))
    all.push(reading(20, 'y', 80, (ohm / refOhm).toExponential(12)))
    const point = buildPoint({ bench: BENCH, chains, readings: all }, { ...HEAD, marks: [] })
    expect(point.channels.find((c) => c.channel === 'y')!.signal).toBeCloseTo(ohm, 8)
  })

  it('brings a self-heating pair to zero current', () => {
    const chain = chains.get('x')!
    const heated = (mA: number, seq: number) =>
      reading(
        seq,
        'x',
        70 * (seq - 100) + 200,
        (chain.signalAt(50 + 0.004 * mA ** 2) / chain.resistor!.ohm).toExponential(12),
        { currentMa: mA },
      )
    const pairs = [1, Math.SQRT2, Math.SQRT2, 1, 1, Math.SQRT2, Math.SQRT2, 1].map((mA, i) =>
      heated(mA, 100 + i),
    )
    const point = buildPoint(
      { bench: BENCH, chains, readings: readings(() => 50), pairs },
      { ...HEAD, marks: [] },
    )
    const x = point.channels.find((c) => c.channel === 'x')!
    expect(x.selfHeatingMk).toBeCloseTo(4, 3)
    expect(x.signalZeroCurrent).toBeCloseTo(chain.signalAt(50 - 0.004), 6)
  })
})

describe('selfHeatingOf', () => {
  /** I H H I I H H I, a visit a minute, six readings each, in a bath that moves; the heating is 0.0002 at 1 mA. */
  const series = (bath: (timeS: number) => number, noise: () => number = () => 0) =>
    [1, Math.SQRT2, Math.SQRT2, 1, 1, Math.SQRT2, Math.SQRT2, 1].flatMap((currentMa, visit) =>
      Array.from({ length: 6 }, (_, i) => {
        const timeS = 70 * visit + 2 * i
        return { timeS, currentMa, signal: 100 + 0.0002 * currentMa ** 2 + bath(timeS) + noise() }
      }),
    )

  it('is I1^2 / (I2^2 - I1^2) of the mean difference, for any pair of currents', () => {
    const at = (timeS: number, currentMa: number) => ({
      timeS,
      currentMa,
      signal: 100 + 0.0002 * currentMa ** 2,
    })
    const pair = selfHeatingOf([at(0, 1), at(60, 2), at(120, 1)], 1)!
    expect(pair.heatingAtCurrent).toBeCloseTo(0.0002, 12)
    expect(pair.steady).toBe(true)
    // Nothing scatters: what is left is the ratio of the currents, 0.2 %, of which q = 4 makes 2 q/(q - 1) times as much.
    expect(pair.uHeatingAtCurrent).toBeCloseTo((8 / 3) * 0.002 * 0.0002, 12)
    expect(pair.n).toBe(1)
  })

  it('has the uncertainty of a lone pair from its own parts', () => {
    const visit = (timeS: number, currentMa: number, signals: number[]) =>
      signals.map((signal, i) => ({ timeS: timeS + i, currentMa, signal }))
    const drifted = [
      ...visit(0, 1, [99.9, 100.1]),
      ...visit(60, 2, [106.2, 106.4]),
      ...visit(120, 1, [100.4, 100.8]),
    ]
    const found = selfHeatingOf(drifted, 1)!
    // 100.0 and 100.6 about 106.3: d = 6, of which a third is the heating at 1 mA.
    expect(found.heatingAtCurrent).toBeCloseTo(2, 12)
    // s of two readings over the root of 2 is half of how far they are apart; the drift between the outer two is 0.6.
    const u = Math.hypot(0.1, Math.hypot(0.1, 0.2) / 2, 0.6 / 2 / Math.sqrt(3))
    expect(found.uHeatingAtCurrent).toBeCloseTo(Math.hypot(u / 3, (8 / 3) * 0.002 * 2), 12)
  })

  it('takes off what the bath did meanwhile, as the reference read between the visits shows it', () => {
    // A swing of the bath five times as large as the self-heating.
    const bath = (timeS: number) => 0.001 * Math.sin(timeS / 37)
    const alone = selfHeatingOf(series(bath), 1)!
    const referred = selfHeatingOf(series(bath), 1, { at: bath, timesS: [0, 600] })!
    expect(Math.abs(alone.heatingAtCurrent - 0.0002)).toBeGreaterThan(0.00005)
    expect(referred.heatingAtCurrent).toBeCloseTo(0.0002, 5)
    expect(referred.n).toBe(4)
  })

  it('cancels a steady drift without a companion', () => {
    const pair = selfHeatingOf(
      series((timeS) => timeS * 1e-5),
      1,
    )!
    expect(pair.heatingAtCurrent).toBeCloseTo(0.0002, 9)
    expect(pair.n).toBe(2)
  })

  it('has an uncertainty that holds: error over u has a mean square near that of t with three degrees of freedom', () => {
    const random = randomStream(3, 'pairs')
    let squares = 0
    const nights = 400
    for (let k = 0; k < nights; k++) {
      // What neither the readings of a visit nor the companion show: the bath between two visits.
      const steps = Array.from({ length: 8 }, () => 2e-5 * random.normal())
      const found = selfHeatingOf(
        series(
          (timeS) => steps[Math.floor(timeS / 70)]!,
          () => 1e-5 * random.normal(),
        ),
        1,
        { at: () => 0, timesS: [0, 600] },
      )!
      squares += ((found.heatingAtCurrent - 0.0002) / found.uHeatingAtCurrent) ** 2 / nights
    }
    // nu / (nu - 2) = 3 for nu = 3; a u of the readings alone would give about 40.
    expect(squares).toBeGreaterThan(1)
    expect(squares).toBeLessThan(8)
  })

  it('knows that pairs share the visits of their companion, where all visits scatter alike', () => {
    const random = randomStream(4, 'companion')
    const looks = [-35, 105, 245, 385, 525]
    const [nights, heatings, stated] = [2000, [] as number[], [] as number[]]
    for (let k = 0; k < nights; k++) {
      const off = looks.map(() => 2e-5 * random.normal())
      const at = (timeS: number) => {
        const i = Math.min(3, Math.max(0, looks.findIndex((t) => t > timeS) - 1))
        return off[i]! + ((timeS - looks[i]!) / 140) * (off[i + 1]! - off[i]!)
      }
      const own = Array.from({ length: 8 }, () => 2e-5 * random.normal())
      const found = selfHeatingOf(
        series((timeS) => own[Math.floor(timeS / 70)]!),
        1,
        { at, timesS: looks },
      )!
      heatings.push((found.heatingAtCurrent - 0.0002) ** 2)
      stated.push(found.uHeatingAtCurrent ** 2)
    }
    const mean = (squares: number[]) => squares.reduce((sum, s) => sum + s, 0) / nights
    // The scatter of the pairs as if they were independent, s^2/n, would be 0.83 of it.
    expect(mean(stated) / mean(heatings)).toBeGreaterThan(0.92)
    expect(mean(stated) / mean(heatings)).toBeLessThan(1.08)
  })

  it('notices pairs that disagree', () => {
    const pair = selfHeatingOf(
      series((timeS) => (timeS > 350 && timeS < 490 ? 0.003 : 0)),
      1,
      { at: () => 0, timesS: [0, 600] },
    )!
    expect(pair.steady).toBe(false)
  })

  it('is unknown where a part is missing', () => {
    const at = (timeS: number, currentMa: number) => ({ timeS, currentMa, signal: 100 })
    expect(selfHeatingOf([at(0, 1), at(60, 1.4)], 1)).toBeUndefined()
    expect(selfHeatingOf([at(0, 1), at(60, 1)], 1)).toBeUndefined()
  })
})

describe('Curve', () => {
  it('is straight between its values, held at its ends, and leaves holes out', () => {
    const curve = new Curve([0, 10, 20, 30], [1, 2, Number.NaN, 4])
    expect([-5, 0, 5, 10, 20, 30, 99].map((t) => curve.at(t))).toEqual([1, 1, 1.5, 2, 3, 4, 4])
    expect(new Curve([], []).at(3)).toBeNaN()
  })

  it('averages the readings of one visit before it interpolates', () => {
    const curve = new Curve([0, 1, 2, 60, 61, 62], [1, 2, 3, 5, 6, 7]).byVisit()
    expect(curve.length).toBe(2)
    expect(curve.at(1)).toBe(2)
    expect(curve.at(61)).toBe(6)
  })
})
