import { describe, expect, it } from 'vitest'
import { ChannelView } from '../../../app/contract/views.ts'
import { SpikeWatch, StuckWatch } from '../../../app/live/suspicion.ts'
import { Track } from '../../../app/live/track.ts'
import { Watch } from '../../../app/live/watch.ts'
import type { Mark } from '../../../app/records/mark.ts'
import { SettlingRule } from '../../../app/records/plan.ts'
import { randomStream } from '../../../simulator/physics/randomness.ts'
import { BENCH, REGISTER, reading } from '../results/bench-fixture.ts'

const rule = SettlingRule.parse({
  windowS: 300,
  driftMkPerMin: 1,
  spreadMk: 2,
  bandK: 0.1,
  holdS: 60,
  channels: ['ref'],
})
const make = () => new Watch({ bench: BENCH, register: REGISTER, date: '2025-07-01', rule })

function feed(watch: Watch, celsius: (t: number) => number, fromS: number, toS: number): void {
  const chain = watch.chains.get('ref')!
  const noise = randomStream(1, 'w')
  for (let t = fromS; t <= toS; t += 10) {
    const heating = 0.002 * (chain.signalAt(celsius(t)) / 25.5)
    const ratio = chain.signalAt(celsius(t) + heating + 0.0002 * noise.normal()) / chain.resistor!.ohm
    watch.take(reading(t + 1, 'ref', t, ratio.toExponential(9)))
  }
}

describe('Watch', () => {
  it('shows every enabled channel whole, with what it needs to be trusted', () => {
    const watch = make()
    watch.aim(50, { monoUs: 0 })
    feed(watch, () => 50.01, 0, 200)
    const [ref, x] = watch.channelViews({ monoUs: 205e6 }).map((v) => ChannelView.parse(v))
    expect(ref!.temperature.value).toBeCloseTo(50.01, 2)
    expect(ref!.temperature.u).toBeGreaterThan(0.0005)
    expect(ref!.deviationMk).toBeCloseTo(10, 0)
    expect(ref!.ratio.value).toBeCloseTo(ref!.resistance.value! / 100.0012, 9)
    expect(x!.temperature.value).toBeNull()
    expect(x!.settling.state).toBe('broken')
  })

  it('settles by the readings that are stored, and arrives at the same answer when they are fed again', () => {
    const a = make()
    a.aim(50, { monoUs: 0 })
    feed(a, () => 50, 0, 400)
    const b = make()
    b.aim(50, { monoUs: 0 })
    feed(b, () => 50, 0, 400)
    expect(a.group({ monoUs: 400e6 })).toEqual(b.group({ monoUs: 400e6 }))
    expect(a.group({ monoUs: 400e6 }).state).toBe('flat')
    expect(a.isSettled({ monoUs: 400e6 })).toBe(true)
    expect(a.isSettled({ monoUs: 4000e6 })).toBe(false)
  })

  it('is broken when the readings stop and crossed when the last one is faulty', () => {
    const watch = make()
    watch.aim(50, { monoUs: 0 })
    feed(watch, () => 50, 0, 400)
    expect(watch.settling('ref', { monoUs: 520e6 })).toMatchObject({ state: 'broken' })
    expect(watch.silenceS('ref', { monoUs: 520e6 })).toBe(120)
    watch.take(reading(900, 'ref', 530, null, { raw: '+9.9E+37', marks: ['over-range'] }))
    expect(watch.settling('ref', { monoUs: 531e6 }).state).toBe('crossed')
  })

  it('marks a single reading in a unit that its thermometer cannot have, and lets it count for nothing', () => {
    const watch = make()
    watch.aim(50, { monoUs: 0 })
    feed(watch, () => 50, 0, 200)
    const before = watch.channelViews({ monoUs: 205e6 })[0]!.temperature.value
    const foreign = (marks: readonly Mark[] = []) => ({
      ...reading(900, 'ref', 206, '0.000304', { marks: [...marks] }),
      unit: 'V' as const,
    })
    const marks = watch.suspicions(foreign())
    expect(marks).toContain('wrong-unit')
    expect(watch.suspicions({ ...foreign(), unit: 'ohm' })).not.toContain('wrong-unit')
    watch.take(foreign(marks))
    expect(watch.celsius('ref')).toBeCloseTo(before!, 9)
    expect(watch.silenceS('ref', { monoUs: 210e6 })).toBe(10)
  })

  it('does not take a channel of a long scan for silent between its visits', () => {
    const watch = make()
    const ratio = watch.chains.get('ref')!.signalAt(50) / watch.chains.get('ref')!.resistor!.ohm
    // A visit every four minutes: one reading just after the switch that is discarded, and one that counts.
    for (let visit = 0; visit < 4; visit++) {
      const at = visit * 240
      watch.take(reading(2 * visit + 1, 'ref', at, ratio.toExponential(9), { marks: ['settling-discarded'] }))
      watch.take(reading(2 * visit + 2, 'ref', at + 2, ratio.toExponential(9)))
    }
    expect(watch.settling('ref', { monoUs: 950e6 }).state).not.toBe('broken')
    expect(watch.settling('ref', { monoUs: 1_500e6 }).state).toBe('broken')
  })

  it('does not hold a nominal thermometer to the setpoint, only to standing still', () => {
    const watch = new Watch({
      bench: BENCH,
      register: REGISTER,
      date: '2025-07-01',
      rule: { ...rule, channels: ['x'] },
    })
    watch.aim(50, { monoUs: 0 })
    const chain = watch.chains.get('x')!
    for (let t = 0; t <= 400; t += 10) {
      const ratio = chain.signalAt(50.7) / chain.resistor!.ohm + 1e-8 * (t % 30)
      watch.take(reading(t + 1, 'x', t, ratio.toExponential(9)))
    }
    expect(watch.group({ monoUs: 400e6 }).state).toBe('flat')
  })

  it('keeps readings at another current out of the window', () => {
    const watch = make()
    watch.aim(50, { monoUs: 0 })
    feed(watch, () => 50, 0, 400)
    const chain = watch.chains.get('ref')!
    const ratio = chain.signalAt(50.004) / chain.resistor!.ohm
    for (let t = 401; t < 410; t++)
      watch.take(reading(1000 + t, 'ref', t, ratio.toExponential(9), { currentMa: Math.SQRT2 }))
    expect(watch.group({ monoUs: 410e6 }).state).toBe('flat')
  })
})

describe('SpikeWatch', () => {
  function follow(values: (i: number) => number, count: number, everyS = 30) {
    const watch = new SpikeWatch()
    const track = new Track(1e6)
    const noise = randomStream(3, 's')
    const suspected: number[] = []
    for (let i = 0; i < count; i++) {
      const value = values(i) + 0.0003 * noise.normal()
      const suspect = watch.suspects(track, i * everyS, value)
      if (suspect) suspected.push(i)
      track.push(i * everyS, value, !suspect)
    }
    return suspected
  }

  it('suspects a lone value far from its neighbours and nothing else', () => {
    expect(follow((i) => (i === 40 ? 50.05 : 50), 80)).toEqual([40])
  })

  it('leaves a bath on its way alone', () => {
    expect(follow((i) => 20 + 1.5 * i, 60)).toEqual([])
    expect(follow((i) => 50 - 30 * Math.exp(-i / 8), 80)).toEqual([])
  })

  it('believes a step after two readings', () => {
    const suspected = follow((i) => (i >= 40 ? 50.05 : 50), 80)
    expect(suspected).toEqual([40, 41])
  })
})

describe('StuckWatch', () => {
  it('notices a fine value that comes back digit for digit, and lets a coarse one be', () => {
    const fine = new StuckWatch()
    expect(Array.from({ length: 10 }, () => fine.isStuck('+2.551234567E-01')).filter(Boolean)).toHaveLength(3)
    expect(fine.isStuck('+2.551234568E-01')).toBe(false)
    const coarse = new StuckWatch()
    expect(Array.from({ length: 20 }, () => coarse.isStuck('25.00')).some(Boolean)).toBe(false)
  })
})
