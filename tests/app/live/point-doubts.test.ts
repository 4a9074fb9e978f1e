import { describe, expect, it } from 'vitest'
import { pointDoubts } from '../../../app/live/point-doubts.ts'
import { Plan } from '../../../app/records/plan.ts'
import type { Point, PointChannel } from '../../../app/records/point.ts'
import { BENCH } from '../results/bench-fixture.ts'

const PLAN = Plan.parse({
  id: 'p',
  name: 'P',
  setpoints: [{ celsius: 50 }],
  settling: { windowS: 600, driftMkPerMin: 0.5, spreadMk: 2, bandK: 0.1, holdS: 300 },
})
const bench = { ...BENCH, channels: BENCH.channels.filter((c) => c.id !== 'y') }

const channel = (id: string, more: Partial<PointChannel> = {}): PointChannel => ({
  channel: id,
  firstSeq: 1,
  lastSeq: 9,
  n: 6,
  leftOut: 0,
  rawMean: 0.3,
  rawSd: 1e-7,
  rawUnit: 'ratio',
  nEffective: 6,
  rawDriftPerS: 1e-9,
  uRawDriftPerS: 1e-10,
  signal: 30,
  signalZeroCurrent: null,
  selfHeatingMk: null,
  uSelfHeatingMk: null,
  t90C: 50,
  sdMk: 0.5,
  driftMkPerMin: 0.1,
  uTypeAMk: 0.2,
  referenceC: 50,
  marks: [],
  ...more,
})
const point = (ref: Partial<PointChannel>, x: Partial<PointChannel> = {}, settled = true): Point => ({
  id: 'p',
  step: 0,
  setpointC: 50,
  label: null,
  kind: 'comparison',
  startUtcUs: 0,
  endUtcUs: 1,
  order: 'S X1 X1 S',
  cycles: 3,
  settled,
  reason: '',
  channels: [channel('ref', ref), channel('x', x)],
  marks: [],
})

describe('pointDoubts', () => {
  it('has none about a quiet point', () => {
    expect(pointDoubts(point({}), bench, PLAN)).toEqual([])
  })

  it('takes a drift without a known noise for what it is, and a bath at the very edge for one within it', () => {
    const drifted = { driftMkPerMin: 3 * 0.5 + 0.1, rawDriftPerS: 0, uRawDriftPerS: 0 }
    expect(pointDoubts(point(drifted), bench, PLAN)).toEqual(['the bath drifted meanwhile'])
    const settling = { ...PLAN.settling, bandK: 0.125 }
    const at = (offK: number) => pointDoubts(point({ t90C: 50 + offK }), bench, { ...PLAN, settling })
    // One and a half times the band.
    expect([at(0.1875), at(-0.1875)]).toEqual([[], []])
    const left = ['the bath left the band meanwhile']
    expect([at(0.19), at(-0.19)]).toEqual([left, left])
  })

  it('names a bath that drifted, was restless, or left its band while the point was taken', () => {
    expect(pointDoubts(point({ driftMkPerMin: 3 }), bench, PLAN)).toEqual(['the bath drifted meanwhile'])
    expect(pointDoubts(point({ sdMk: 7 }), bench, PLAN)).toEqual(['the bath was restless meanwhile'])
    expect(pointDoubts(point({ t90C: 50.2 }), bench, PLAN)).toEqual(['the bath left the band meanwhile'])
  })

  it('does not take a drift for real that its own noise explains', () => {
    expect(
      pointDoubts(point({ driftMkPerMin: 3, rawDriftPerS: 1e-9, uRawDriftPerS: 5e-10 }), bench, PLAN),
    ).toEqual([])
  })

  it('does not ask stillness of a point that was taken unsettled', () => {
    expect(pointDoubts(point({ driftMkPerMin: 30 }, {}, false), bench, PLAN)).toEqual([])
  })

  it('names channels that are missing, that repeat themselves, or that lost most of their readings', () => {
    const missing = point({})
    missing.channels.pop()
    expect(pointDoubts(missing, bench, PLAN)).toEqual(['PRT has no reading that counts'])
    expect(pointDoubts(point({}, { marks: ['stuck'] }), bench, PLAN)).toEqual(['PRT repeats the same value'])
    expect(pointDoubts(point({}, { n: 2, leftOut: 4 }), bench, PLAN)).toEqual([
      'PRT lost most of its readings',
    ])
  })
})
