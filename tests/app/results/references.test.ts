import { describe, expect, it } from 'vitest'
import type { Point, PointChannel } from '../../../app/records/point.ts'
import { InstrumentRecord, type Thermometer } from '../../../app/records/register.ts'
import { type Analysis, analyse } from '../../../app/results/analysis.ts'
import { simulate } from '../../report/fixture.ts'

const QUICK = { monteCarloTrials: 0 }
const NIGHT = { cell: 'none', setpoints: [10, 30, 50, 70, 90], errors: 0 } as const

/** The fixture's night with a second reference that reads higher by so much, K. */
function twoReferences(apartK: number) {
  const { input } = simulate(NIGHT)
  const { bench, register } = input.setup
  const first = bench.channels.find((c) => c.id === 's0')!
  const thermometer = register.thermometers.find((t) => t.id === first.thermometer)!
  const second: Thermometer = { ...thermometer, id: 'ref-26', name: 'Reference SPRT Q-26' }
  const channels = (p: Point): PointChannel[] => {
    const own = p.channels.find((c) => c.channel === 's0')!
    const moved = {
      ...own,
      channel: 's1',
      rawMean: own.rawMean * (1 + 3.9e-3 * apartK),
      t90C: own.t90C! + apartK,
    }
    return [
      own,
      moved,
      ...p.channels
        .filter((c) => c.channel !== 's0')
        .map((c) => ({
          ...c,
          references: [
            { channel: 's0', celsius: c.referenceC! },
            { channel: 's1', celsius: c.referenceC! + apartK },
          ],
        })),
    ]
  }
  return {
    ...input,
    setup: {
      ...input.setup,
      bench: {
        ...bench,
        channels: [...bench.channels, { ...first, id: 's1', name: 'S1', thermometer: 'ref-26' }],
      },
      register: { ...register, thermometers: [...register.thermometers, second] },
    },
    points: input.points.map((p) => ({ ...p, channels: channels(p) })),
  }
}

const x1 = (analysis: Analysis) => analysis.thermometers.find((t) => t.record.channel.id === 'x1')!

describe('several references', () => {
  it('are one weighted mean where they agree, each in the budget, and U gets no wider', () => {
    const one = x1(analyse({ ...simulate(NIGHT).input, options: QUICK }))
    const two = x1(analyse({ ...twoReferences(0.0002), options: QUICK }))
    const [a, b] = [one.points[2]!, two.points[2]!]
    expect(b.pair.agreement!.consistent).toBe(true)
    expect(b.pair.agreement!.references.map((r) => r.weight)).toEqual([
      expect.closeTo(0.5, 6),
      expect.closeTo(0.5, 6),
    ])
    expect((b.pair.referenceC - a.pair.referenceC) * 1e3).toBeCloseTo(0.11, 1)
    expect(b.budget.u).toBeLessThan(a.budget.u)
    // The certificates' errors are independent: each counts half, together the root of two less.
    const line = (p: typeof a) => p.budget.lines.find((l) => l.component === 'reference-calibration')!.u
    expect(line(b) / line(a)).toBeCloseTo(Math.SQRT1_2, 3)
  })

  it('that disagree by 40 mK are marked, and U covers both of them until a person decides', () => {
    const analysis = analyse({ ...twoReferences(0.04), options: QUICK })
    for (const { pair, budget } of x1(analysis).points) {
      expect(pair.agreement!.consistent).toBe(false)
      expect(budget.lines[0]!.component).toBe('reference-disagreement')
      expect(budget.expanded).toBeGreaterThan(20)
    }
  })

  it('give the other the word where a person leaves one out', () => {
    const input = twoReferences(0.04)
    const n = input.events.length
    const events = input.points.map((p, i) => ({
      ...input.events[0]!,
      n: n + 1 + i,
      kind: 'amendment' as const,
      words: 'left out',
      data: { target: { what: 'point', point: p.id, channel: 's1' }, why: 'it was dropped last week' },
    }))
    const left = x1(analyse({ ...input, events: [...input.events, ...events], options: QUICK }))
    const alone = x1(analyse({ ...simulate(NIGHT).input, options: QUICK }))
    expect(left.points[2]!.pair.referenceC).toBeCloseTo(alone.points[2]!.pair.referenceC, 9)
    expect(left.points[2]!.budget.u).toBeCloseTo(alone.points[2]!.budget.u, 9)
  })
})

describe('the bridge of each reading', () => {
  it('is the one that measured it: a coarse bridge of the reference is not lost beside a fine one of the item', () => {
    const { input } = simulate(NIGHT)
    const { bench, register } = input.setup
    const coarse = InstrumentRecord.parse({
      ...register.instruments[0]!,
      id: 'rb-3',
      name: 'Second bridge',
      bridge: { linearityRatio: 3e-7, resolutionRatio: 0, highestRatio: 4 },
    })
    const setup = {
      ...input.setup,
      bench: {
        ...bench,
        instruments: [...bench.instruments, { ...bench.instruments[0]!, id: 'second', register: 'rb-3' }],
        channels: bench.channels.map((c) => (c.id === 's0' ? { ...c, instrument: 'second' } : c)),
      },
      register: { ...register, instruments: [...register.instruments, coarse] },
    }
    const found = x1(analyse({ ...input, setup, options: QUICK })).points[2]!
    const line = found.budget.lines.find((l) => l.component === 'bridge-linearity')!.u
    const { mkPerRelative, ratio } = found.pair.references[0]!
    // 3e-7 of the reference's ratio and 1e-7 of the item's.
    const expected = Math.hypot(
      (3e-7 / ratio!) * mkPerRelative,
      (1e-7 / found.pair.underTestRatio!) * found.pair.underTestMkPerRelative,
    )
    expect(line).toBeCloseTo(expected, 6)
    expect(line).toBeGreaterThan(0.25)
  })

  it('stays in the budget where the item hangs on a meter', () => {
    const { input } = simulate(NIGHT)
    const points = input.points.map((p) => ({
      ...p,
      channels: p.channels.map((c) =>
        c.channel === 'x1' ? { ...c, rawUnit: 'ohm', rawMean: c.signal! } : c,
      ),
    }))
    const line = x1(analyse({ ...input, points, options: QUICK })).points[2]!.budget.lines.find(
      (l) => l.component === 'bridge-linearity',
    )
    expect(line!.u).toBeGreaterThan(0.05)
  })

  it('counts a last digit as the digit over the root of 12', () => {
    const found = x1(analyse({ ...simulate(NIGHT).input, options: QUICK })).points[2]!
    const line = found.budget.lines.find((l) => l.component === 'bridge-resolution')!.u
    const { mkPerRelative, ratio } = found.pair.references[0]!
    const digit = Math.hypot(
      (1e-7 / ratio!) * mkPerRelative,
      (1e-7 / found.pair.underTestRatio!) * found.pair.underTestMkPerRelative,
    )
    expect(line).toBeCloseTo(digit / Math.sqrt(12), 9)
  })
})

describe('readings that no reference bracketed', () => {
  it('have what the bath did meanwhile in their budget', () => {
    const { input } = simulate(NIGHT)
    const points = input.points.map((p) => ({
      ...p,
      channels: p.channels.map((c) =>
        c.channel === 's0' ? { ...c, driftMkPerMin: 6 } : { ...c, referenceHeldS: 30 },
      ),
    }))
    const line = x1(analyse({ ...input, points, options: QUICK })).points[2]!.budget.lines.find(
      (l) => l.component === 'bath-stability',
    )!
    expect(line.u).toBeCloseTo(Math.hypot(0.4, 3 / Math.sqrt(3)), 6)
  })
})

describe('self-heating by the register', () => {
  it('follows I^2 R of each kind: a thermistor is warmed less when it is hot, platinum more', () => {
    const analysis = analyse({ ...simulate(NIGHT).input, options: QUICK })
    const heating = (channel: string) =>
      analysis.thermometers
        .find((t) => t.record.channel.id === channel)!
        .points.map((p) => p.pair.underTest.selfHeatingMk)
    const [cold, , , , hot] = heating('x4') as [number, number, number, number, number]
    // 10 kilohm at 25 degC: 19.9 kilohm at 10 degC, 0.9 kilohm at 90 degC.
    expect(cold / 0.4).toBeGreaterThan(1.8)
    expect(hot / 0.4).toBeLessThan(0.12)
    const platinum = heating('x1')
    expect(platinum[4]! / platinum[0]!).toBeCloseTo(134.7 / 103.9, 2)
  })
})

describe('a unit that the thermometer cannot have', () => {
  it('is refused in words, and no curve is fitted to ohm taken for millivolt', () => {
    const { input } = simulate({ ...NIGHT, thermocouple: true })
    const points = input.points.map((p) => ({
      ...p,
      channels: p.channels.map((c) => (c.channel === 'x5' ? { ...c, rawUnit: 'ohm' } : c)),
    }))
    const couple = analyse({ ...input, points, options: QUICK }).thermometers.find(
      (t) => t.record.channel.id === 'x5',
    )!
    expect(couple.fit).toBeNull()
    expect(couple.refusal).toMatch(/was measured in ohm, which it cannot have/)
  })
})
