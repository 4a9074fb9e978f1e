import { describe, expect, it } from 'vitest'
import { duration } from '../../../app/base/times.ts'
import { PlanPreview } from '../../../app/contract/studies.ts'
import { celsiusWords, figure } from '../../../app/live/words.ts'
import { estimatePlan, measureS, observedPace, scanS, USUAL_PACE } from '../../../app/plan/estimate.ts'
import { previewPlan } from '../../../app/plan/preview.ts'
import { Plan } from '../../../app/records/plan.ts'
import { BENCH, REGISTER } from '../results/bench-fixture.ts'

const plan = (celsius: number[], more = {}) =>
  Plan.parse({
    id: 'p',
    name: 'P',
    setpoints: celsius.map((c) => ({ celsius: c })),
    settling: { windowS: 600, driftMkPerMin: 0.5, spreadMk: 2, bandK: 0.1, holdS: 300 },
    ...more,
  })
const limits = { lowC: 0, highC: 140, because: 'the bath' }
const preview = (p: Plan, more = {}) =>
  previewPlan({
    plan: p,
    bench: BENCH,
    register: REGISTER,
    date: '2025-07-01',
    limits,
    fromC: 23,
    freeBytes: 1e12,
    ...more,
  })
const ids = (p: Plan, severity: string, more = {}) =>
  preview(p, more)
    .checks.filter((c) => c.severity === severity)
    .map((c) => c.id)

describe('previewPlan', () => {
  it('is whole and lets a good plan through', () => {
    const found = PlanPreview.parse(preview(plan([30, 60])))
    expect(found.checks.filter((c) => c.severity === 'stop')).toEqual([])
    expect(found.totalS).toBeGreaterThan(3600)
    expect(found.readings).toBeGreaterThan(100)
  })

  it('stops a thermometer on an instrument that measures what it cannot have', () => {
    expect(ids(plan([30]), 'stop', { units: { bridge: 'V' } })).toEqual(['unit-ref', 'unit-x', 'unit-y'])
    expect(ids(plan([30]), 'stop', { units: { bridge: 'ohm' } })).toEqual([])
  })

  it('says that leaving out R(0.01 °C) of a standard thermometer will be remarked, and nothing where it is read', () => {
    expect(ids(plan([30]), 'note')).toContain('no-wtp')
    expect(ids(plan([30], { wtpCheck: true }), 'note')).not.toContain('no-wtp')
    const industrial = structuredClone(REGISTER)
    industrial.thermometers[0]!.calibrations[0]!.conversion = { kind: 'iec60751', r0: 100 }
    expect(ids(plan([30]), 'note', { register: industrial })).not.toContain('no-wtp')
  })

  it('stops what leads out of the limits, each with a remedy', () => {
    expect(ids(plan([30, 150, -5]), 'stop')).toEqual(['high-1', 'low-2'])
    for (const check of preview(plan([150])).checks)
      if (check.severity !== 'fine') expect(check.remedy).not.toBe('')
  })

  it('stops without a reference, without its calibration, and with a window too short for the scan', () => {
    const none = { ...BENCH, channels: BENCH.channels.filter((c) => c.role !== 'reference' && c.id !== 'y') }
    expect(ids(plan([30]), 'stop', { bench: none })).toContain('no-reference')
    const bare = structuredClone(REGISTER)
    bare.thermometers[0]!.calibrations = []
    expect(ids(plan([30]), 'stop', { register: bare })).toEqual(['calibration-ref'])
    expect(ids(plan([30], { settling: { ...plan([30]).settling, windowS: 20 } }), 'stop')).toContain('window')
    expect(ids(plan([30], { maxWaitS: 700 }), 'stop')).toContain('wait')
  })

  it('stops two channels that are one, and warns of currents that are too large', () => {
    const twice = structuredClone(BENCH)
    twice.channels[1]!.input = 1
    expect(ids(plan([30]), 'stop', { bench: twice })).toEqual(['way-x'])
    const strong = structuredClone(BENCH)
    strong.channels[1]!.currentMa = 5
    expect(ids(plan([30]), 'warning', { bench: strong })).toEqual(['current-x'])
    const weak = structuredClone(REGISTER)
    weak.resistors[0]!.maxCurrentMa = 1.2
    expect(ids(plan([30]), 'warning', { register: weak })).toEqual([])
    const paired = plan([30])
    paired.setpoints[0]!.selfHeating = true
    expect(ids(paired, 'warning', { register: weak })).toEqual(['resistor-current-ref', 'resistor-current-x'])
  })

  it('warns of an overdue calibration, of leaving its range, of a small disk, and of hot fluid', () => {
    expect(ids(plan([30]), 'warning', { date: '2026-03-01' })).toContain('overdue-ref')
    expect(ids(plan([-10]), 'warning', { limits: { ...limits, lowC: -20 } })).toContain('range-ref--10')
    expect(ids(plan([30]), 'warning', { freeBytes: 1e6 })).toContain('disk')
    expect(ids(plan([90]), 'note')).toContain('hot')
  })
})

describe('previewPlan, what it offers to do', () => {
  const helps = (p: Plan, more = {}) =>
    preview(p, more).checks.flatMap(({ id, help }) => (help ? [[id, help] as const] : []))

  it('widens the window to eight scans and the wait to twice what is needed', () => {
    const rule = plan([30]).settling
    expect(helps(plan([30], { settling: { ...rule, windowS: 20 } }))).toContainEqual([
      'window',
      { kind: 'window', windowS: 120 },
    ])
    expect(helps(plan([30], { maxWaitS: 700 }))).toContainEqual(['wait', { kind: 'wait', maxWaitS: 3600 }])
  })

  it('leaves out a setpoint that the bath or the reference cannot bear', () => {
    expect(helps(plan([30, 150]))).toContainEqual(['high-1', { kind: 'leave-out', celsius: 150 }])
  })

  it('says once of a resistor and a bridge that their calibration is overdue', () => {
    const late = structuredClone(REGISTER)
    late.resistors[0]!.calibrations[0]!.due = '2025-06-30'
    late.instruments[0]!.due = '2025-06-30'
    expect(ids(plan([30]), 'warning', { register: late }).toSorted()).toEqual(
      [`overdue-${late.instruments[0]!.id}`, `overdue-${late.resistors[0]!.id}`].toSorted(),
    )
  })

  it('stops a channel that follows one which is switched off', () => {
    const bench = structuredClone(BENCH)
    bench.channels.push({ ...bench.channels[0]!, id: 'ref2', name: 'Second', input: 3 })
    bench.channels[2]!.reference = { kind: 'channel', channel: 'ref2' }
    bench.channels[3]!.enabled = false
    expect(ids(plan([30]), 'stop', { bench })).toEqual(['follows-y-ref2'])
  })

  it('warns of a thermocouple under test whose junction is not at the ice point', () => {
    const register = structuredClone(REGISTER)
    register.thermometers[1]!.kind = 'thermocouple'
    register.thermometers[1]!.calibrations = []
    const withJunction = (junction: (typeof BENCH.channels)[number]['junction']) => {
      const bench = structuredClone(BENCH)
      bench.channels.pop()
      bench.channels[1] = { ...bench.channels[1]!, ...(junction ? { junction } : {}) }
      return preview(plan([30]), { bench, register }).checks.filter(({ id }) => id === 'junction-x')
    }
    expect(withJunction({ kind: 'channel', channel: 'ref' })[0]?.severity).toBe('warning')
    expect(withJunction({ kind: 'fixed', celsius: 23 })[0]?.severity).toBe('warning')
    expect(withJunction(undefined)[0]?.severity).toBe('note')
    expect(withJunction({ kind: 'fixed', celsius: 0 })).toEqual([])
    expect(withJunction({ kind: 'compensated', uK: 0.3 })).toEqual([])
  })
})

describe('estimatePlan', () => {
  it('adds travel, settling and measuring, and goes on from the step under way', () => {
    const all = estimatePlan(plan([30, 60, 90]), BENCH, 30)
    expect(all[0]!.travelS).toBe(0)
    expect(all[1]!.travelS).toBe(600)
    expect(all[1]!.startS).toBe(all[0]!.endS)
    const rest = estimatePlan(plan([30, 60, 90]), BENCH, 30, USUAL_PACE, 1)
    expect(rest.map((s) => s.step)).toEqual([1, 2])
    expect(rest[0]!.startS).toBe(0)
  })

  it('counts a visit of a channel that is already connected without its wait', () => {
    const one = { ...plan([30]), cycles: 1 }
    // S X Y Y X S: S 4.5, X 4.5, Y 0.5, Y 0.5, X 4.5, S 4.5 s; the first S of a next cycle is connected already.
    expect(measureS(one, BENCH, false, USUAL_PACE)).toBeCloseTo(4.5 + 4.5 + 0.5 + 0.5 + 4.5 + 4.5, 9)
    expect(measureS(one, BENCH, true, USUAL_PACE)).toBeGreaterThan(1000)
  })
})

describe('scanS', () => {
  it('is what the busiest bridge takes, but not less than the bench says', () => {
    // S and X wait 4 s each; every channel is read once, in half a second.
    expect(scanS({ ...BENCH, scanEveryS: 0 }, USUAL_PACE)).toBeCloseTo(4.5 + 4.5 + 0.5, 9)
    expect(scanS({ ...BENCH, scanEveryS: 30 }, USUAL_PACE)).toBe(30)
    const [ref, ...others] = BENCH.channels
    const two = [{ ...ref!, instrument: 'second' }, ...others, { ...ref!, id: 'off', enabled: false }]
    expect(scanS({ ...BENCH, scanEveryS: 0, channels: two }, USUAL_PACE)).toBeCloseTo(4.5 + 0.5, 9)
    expect(scanS({ ...BENCH, scanEveryS: 0, channels: [] }, USUAL_PACE)).toBe(0)
  })
})

describe('observedPace', () => {
  const at = (kind: string, s: number, celsius: number | null = null, toS = s) => ({
    kind,
    fromUtcUs: s * 1e6,
    toUtcUs: toS * 1e6,
    celsius,
  })

  it('is the usual one before the night has shown anything', () => {
    expect(observedPace([], plan([30]), BENCH)).toEqual(USUAL_PACE)
    expect(observedPace([at('setpoint', 0, 30)], plan([30]), BENCH)).toEqual(USUAL_PACE)
  })

  it('takes over how long the bath really needed', () => {
    // 30 K at the usual 3 K/min are 600 s, window and hold 900 s; 2400 s in all leave 900 s + 600 s more.
    const night = [at('setpoint', 0, 30), at('settled', 2000), at('setpoint', 3000, 60), at('settled', 6000)]
    expect(observedPace(night, plan([30, 60]), BENCH).dieDownS).toBe(1500)
  })

  it('takes over how long its points really took, and of other moments nothing', () => {
    const usualS = measureS(plan([30]), BENCH, false, USUAL_PACE)
    const point = (fromS: number, times: number) => at('point', fromS, 30, fromS + times * usualS)
    const other = [at('note', 0, null, 9000), at('settled', 100, 30, 9000)]
    const pace = (times: readonly number[]) =>
      observedPace([...other, ...times.map((each, i) => point(i * 9000, each))], plan([30]), BENCH)
    expect(pace([1.5, 2.5])).toEqual({ ...USUAL_PACE, readingS: 2 * USUAL_PACE.readingS })
    expect(pace([0.6]).readingS).toBeCloseTo(0.6 * USUAL_PACE.readingS, 9)
    expect(pace([0.01]).readingS).toBeCloseTo(0.2 * USUAL_PACE.readingS, 9)
    expect(pace([])).toEqual(USUAL_PACE)
  })
})

describe('words', () => {
  it('say times, figures and temperatures as people do', () => {
    expect([40, 119, 840, 7500, 7200].map(duration)).toEqual(['40 s', '2 min', '14 min', '2 h 5 min', '2 h'])
    expect([1.834, 0.5312, 12.3, 340.2, 0].map(figure)).toEqual(['1.8', '0.53', '12', '340', '0'])
    expect(celsiusWords(0.01)).toBe('0.01 °C')
  })
})
