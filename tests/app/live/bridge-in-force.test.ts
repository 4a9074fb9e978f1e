import { describe, expect, it } from 'vitest'
import { bridgeErrorAt, bridgeInForce, bridgeLinearityAt } from '../../../app/live/bridge-in-force.ts'
import { type BridgeCheckRecord, InstrumentRecord } from '../../../app/records/register.ts'
import { analyse } from '../../../app/results/analysis.ts'
import { simulate } from '../../report/fixture.ts'

const check = (date: string, linearityRatio: number, kind: BridgeCheckRecord['kind'] = 'network') => ({
  id: `${kind}-${date}`,
  kind,
  date,
  linearityRatio,
  agrees: true,
  results: [{ name: 'linearity', value: linearityRatio, u: 0 }],
})
const bridge = (checks: readonly ReturnType<typeof check>[]) =>
  InstrumentRecord.parse({
    id: 'rb',
    name: 'Bridge',
    role: 'ratio-bridge',
    bridge: { linearityRatio: 5e-8, resolutionRatio: 1e-9, highestRatio: 4 },
    checks,
  })

describe('bridgeInForce', () => {
  it('is what the record states where no check was made by the day', () => {
    expect(bridgeInForce(bridge([check('2026-05-01', 1e-6)]), '2026-03-01')).toEqual({
      linearityRatio: 5e-8,
      uResolutionRatio: 1e-9 / Math.sqrt(12),
      linearitySource: null,
      correction: null,
    })
    expect(bridgeInForce(null, '2026-03-01')).toBeNull()
  })

  it('takes a check that found more, and says where it comes from', () => {
    const found = bridgeInForce(
      bridge([check('2025-05-01', 1e-6), check('2026-01-01', 2e-7, 'interchange')]),
      '2026-03-01',
    )!
    expect(found.linearityRatio).toBe(2e-7)
    expect(found.linearitySource).toMatch(/interchange on 2026-01-01, which found more/)
  })

  it('never narrows what the record states', () => {
    const found = bridgeInForce(bridge([check('2026-01-01', 1e-9)]), '2026-03-01')!
    expect(found.linearityRatio).toBe(5e-8)
    expect(found.linearitySource).toMatch(/register entry of Bridge; the check .* found no more/)
  })

  it('corrects by the newest curve that is meant to, and takes what it leaves', () => {
    const curve = [
      { ratio: 0.2, error: 1e-7, u: 1e-8 },
      { ratio: 0.4, error: 3e-7, u: 3e-8 },
    ]
    const found = (date: string) =>
      bridgeInForce(
        InstrumentRecord.parse({
          ...bridge([]),
          checks: [
            { ...check('2026-01-01', 2.5e-7, 'together'), curve, asCorrection: true },
            { ...check('2026-02-01', 1e-8, 'interchange'), curve },
          ],
        }),
        date,
      )!
    expect(found('2025-12-31').correction).toBeNull()
    const later = found('2026-03-01')
    expect(bridgeErrorAt(later, 0.3)).toBeCloseTo(2e-7, 15)
    expect(bridgeLinearityAt(later, 0.3)).toBeCloseTo(2e-8, 15)
    expect(bridgeErrorAt(later, 0.2)).toBe(1e-7)
    // Outside the curve nothing is corrected, and the stated linearity holds.
    expect([bridgeErrorAt(later, 0.1), bridgeErrorAt(later, 0.5)]).toEqual([0, 0])
    expect(bridgeLinearityAt(later, 0.5)).toBe(5e-8)
    expect(later.linearitySource).toMatch(/curve of Bridge of 2026-01-01/)
  })

  it('takes the larger of two checks of one day', () => {
    const checks = [check('2026-01-01', 3e-7, 'comparison'), check('2026-01-01', 1e-7)]
    expect(bridgeInForce(bridge(checks), '2026-03-01')!.linearityRatio).toBe(3e-7)
    expect(bridgeInForce(bridge(checks.toReversed()), '2026-03-01')!.linearityRatio).toBe(3e-7)
  })
})

describe('analyse', () => {
  it('puts the linearity that a check found into every budget, with the check named as its source', () => {
    const { input } = simulate({
      setpoints: [0, 50, 100],
      cell: 'under-test',
      readings: 10,
      errors: 0,
      seed: 3,
    })
    const options = { monteCarloTrials: 0 }
    const lineOf = (given: typeof input) =>
      analyse({ ...given, options })
        .thermometers.find((t) => t.record.channel.id === 'x1')!
        .points.find((p) => !p.pair.cell)!
        .budget.lines.find((l) => l.component === 'bridge-linearity')!
    const before = lineOf(input)
    const register = structuredClone(input.setup.register)
    const own = register.instruments.find((i) => i.id === 'rb-8')!
    own.checks = [check('2026-02-01', 10 * own.bridge!.linearityRatio)]
    const after = lineOf({ ...input, setup: { ...input.setup, register } })
    expect(after.u / before.u).toBeCloseTo(10, 6)
    expect(before.source).not.toMatch(/check of/)
    expect(after.source).toMatch(/check of Ratio bridge RB-8 by networks of resistors on 2026-02-01/)
  })
})
