import { describe, expect, it } from 'vitest'
import type { EarlierChannel, EarlierNight } from '../../../app/plan/earlier-night.ts'
import { expectedOf } from '../../../app/plan/expected.ts'
import { Thermometer } from '../../../app/records/register.ts'
import { BENCH, REGISTER } from '../results/bench-fixture.ts'

const x = BENCH.channels[1]!
const prt = REGISTER.thermometers[1]!

const seen = (more: Partial<EarlierChannel> = {}): EarlierChannel => ({
  channel: { id: 'x', instrument: 'bridge', role: 'under-test', thermometer: 'prt' },
  kind: 'prt',
  rawUnit: 'ratio',
  inBath: null,
  inCell: null,
  heldS: 0,
  driftMkPerMin: 0,
  heating: null,
  memoryMkPerK: null,
  liftMk: null,
  insulationOhm: null,
  ...more,
})
const at = (instrument: string, role: 'reference' | 'under-test', thermometer: string) => ({
  channel: { id: thermometer, instrument, role, thermometer },
})
const night = (...channels: EarlierChannel[]): EarlierNight => ({
  ...{ session: 's', endedUtcUs: 0, channels, placesMk: null },
  ...{ steps: [], slower: [], slowerWithPairs: [], actsS: [] },
})

describe('expectedOf', () => {
  it('knows nothing before the first night but what the instrument tells for such a thermometer', () => {
    expect(expectedOf(x, prt, [])).toEqual({
      ...{ rawUnit: 'ratio', inBath: null, inCell: null, heldS: 0, driftMkPerMin: 0 },
      ...{ heating: null, memoryMkPerK: 0, liftMk: 0, insulationOhm: null },
    })
    const { reference: _reference, ...bare } = x
    expect(expectedOf(bare, prt, []).rawUnit).toBe('ohm')
    const fields = { id: 'tc', name: 'TC', kind: 'thermocouple', thermocoupleType: 'T', lowC: 0, highC: 200 }
    expect(expectedOf(x, Thermometer.parse(fields), []).rawUnit).toBe('V')
  })

  it('goes by the same thermometer on the same instrument, else by its kind in its role, on it, anywhere', () => {
    const held = (channels: readonly EarlierChannel[]) => expectedOf(x, prt, [night(...channels)]).heldS
    const choices = [
      seen({ ...at('other', 'reference', 'prt'), heldS: 4 }),
      seen({ ...at('bridge', 'reference', 'a'), heldS: 3 }),
      seen({ ...at('bridge', 'under-test', 'b'), heldS: 2 }),
      seen({ heldS: 1 }),
      seen({ kind: 'sprt', heldS: 9 }),
    ]
    expect(held(choices)).toBe(1)
    expect(held(choices.filter((c) => c.heldS !== 1))).toBe(2)
    expect(held(choices.filter((c) => c.heldS > 2))).toBe(3)
    expect(held(choices.filter((c) => c.heldS > 3))).toBe(4)
    expect(held(choices.slice(-1))).toBe(0)
    expect(expectedOf(x, prt, [night(seen({ rawUnit: 'ohm' }))]).rawUnit).toBe('ohm')
  })

  it('pools how nights repeated by how many points each had', () => {
    const points = (n: number, squareMk: number, effectivePart: number) =>
      seen({ inBath: { points: n, squareMk, effectivePart }, driftMkPerMin: squareMk })
    const { inBath, inCell, driftMkPerMin } = expectedOf(x, prt, [
      night(points(2, 4, 0.5)),
      night(points(6, 8, 0.9), seen({ driftMkPerMin: 5 })),
    ])
    // (2 x 4 + 6 x 8)/8 and (2 x 0.5 + 6 x 0.9)/8.
    expect(inBath).toEqual({ points: 8, squareMk: 7, effectivePart: 0.8 })
    expect(inCell).toBeNull()
    expect(driftMkPerMin).toBe(5)
  })

  it('takes its own memory and lift with their sign, of others of its kind the usual size', () => {
    const told = (memoryMkPerK: number | null, more = {}) =>
      seen({ memoryMkPerK, liftMk: 2 * (memoryMkPerK ?? 0), ...more })
    const others = [-0.3, 0.1, -0.2].map((mk, i) => told(mk, at('bridge', 'under-test', `o${i}`)))
    const own = expectedOf(x, prt, [night(told(-0.5), ...others), night(told(-0.1), told(null))])
    expect(own.memoryMkPerK).toBeCloseTo(-0.3, 12)
    expect(own.liftMk).toBeCloseTo(-1.2 / 3, 12)
    const usual = expectedOf(x, prt, [night(...others, told(7, { kind: 'sprt' }))])
    expect(usual.memoryMkPerK).toBe(0.2)
    expect(usual.liftMk).toBe(0.4)
  })

  it('takes the mean of the self-heating that was seen, and the middle of the insulations', () => {
    const heated = (mkPerOhm: number, squareMk: number, pairs: number, insulationOhm: number) =>
      seen({ heating: { mkPerOhm, squareMk, pairs }, insulationOhm })
    const found = expectedOf(x, prt, [
      night(heated(0.02, 0.1, 1, 1e9)),
      night(heated(0.04, 0.3, 4, 3e9), seen()),
      night(seen({ insulationOhm: 2e9 })),
    ])
    expect(found.heating!.mkPerOhm).toBeCloseTo(0.03, 12)
    expect(found.heating!.squareMk).toBeCloseTo(0.2, 12)
    expect(found.heating!.pairs).toBe(3)
    expect(found.insulationOhm).toBe(2e9)
  })
})
