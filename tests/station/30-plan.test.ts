import { describe, expect, it } from 'vitest'
import { type Box, openBox, planOf } from './box.ts'
import { answering, hurry, night } from './plan-night.ts'

describe('a plan', () => {
  it('takes five points over a night of an oil bath, each settled, and sends the bath to its safe setpoint', async () => {
    const from = performance.now()
    const { finished, points, events, inBath, perSecond } = await night(planOf([15, 35, 55, 75, 95]), {
      scenario: 'demo',
    })
    expect(finished.ending).toBe('complete')
    expect(points.map((p) => p.setpointC)).toEqual([15, 35, 55, 75, 95])
    for (const point of points) {
      expect(point.settled).toBe(true)
      expect(point.order).toBe('S X1 X2 X3 X4 X4 X3 X2 X1 S')
      expect(point.channels.map((c) => c.channel)).toEqual(['ref', 'prt-a', 'prt-b', 'sprt', 'thermistor'])
      for (const c of point.channels) {
        expect(c.n + c.leftOut).toBe(6)
        expect(Math.abs(c.referenceC! - point.setpointC)).toBeLessThan(0.2)
      }
    }
    expect(events.filter((e) => e.kind === 'setpoint').at(-1)!.words).toContain('safe setpoint, 25 °C')
    expect(perSecond.foretold / perSecond.came).toBeGreaterThan(0.85)
    expect(perSecond.foretold / perSecond.came).toBeLessThan(1.15)
    // What the bath took to each setpoint stands in its life.
    expect(inBath).toHaveLength(1)
    expect(inBath[0]!.steps.map(({ toC }) => toC)).toEqual([15, 35, 55, 75, 95])
    const settledS = events.filter((e) => e.kind === 'settled').map((e) => e.utcUs / 1e6)
    const setS = events.filter((e) => e.kind === 'setpoint').map((e) => e.utcUs / 1e6)
    for (const [i, { tookS, timeConstantS }] of inBath[0]!.steps.entries()) {
      expect(tookS).toBeCloseTo(settledS[i]! - setS[i]!, 3)
      expect(timeConstantS).toBeGreaterThan(60)
      expect(timeConstantS).toBeLessThan(tookS)
    }
    expect(events.find((e) => e.kind === 'environment')!.words).toMatch(
      /^The room: air [\d.]+ °C, humidity [\d.]+ %, pressure [\d.]+ hPa\.$/,
    )
    // A night in well under a minute of real time, so that nobody tests less than a night.
    expect(performance.now() - from).toBeLessThan(40_000)
  }, 60_000)

  it('stores each step before it is taken: the last step in the file is never behind what was done', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      await box.station.startPlan({ plan: planOf([30], hurry), operator: 'Test' })
      const { file } = box.station.session!.recorder
      const seen = new Set<string>()
      box.station.onDidChange.on(() => {
        const run = box.station.session
        if (!run) return
        const stored = file.runnerState() as { phase: string }
        expect(stored.phase).toBe(run.runner!.state.phase)
        seen.add(stored.phase)
      })
      await box.station.finished
      expect([...seen]).toEqual(expect.arrayContaining(['setting', 'waiting', 'measuring']))
      // What is shown of a session that is over is its last value, and that nobody measures it any longer.
      const [ref] = box.station.state().channels
      expect(ref!.temperature.value).toBeGreaterThan(20)
      expect(ref!.settling).toMatchObject({ state: 'over', words: 'Done: measured until the session ended.' })
    } finally {
      await box.close()
    }
  })

  it('goes through setpoints up and down, and keeps their labels', async () => {
    const plan = planOf([30, 33, 30], hurry)
    plan.setpoints[0]!.label = 'up'
    plan.setpoints[2]!.label = 'down'
    const { points } = await night(plan)
    expect(points.map((p) => [p.setpointC, p.label])).toEqual([
      [30, 'up'],
      [33, null],
      [30, 'down'],
    ])
  })

  it('runs a self-heating pair and finds the self-heating the lab has', async () => {
    const plan = planOf([30], hurry)
    plan.setpoints[0]!.selfHeating = true
    const { points } = await night(plan)
    const prt = points[0]!.channels.find((c) => c.channel === 'prt-a')!
    // The lab states 1.5 mK at 0 degC and draws the truth within 10 %; the pair's own noise comes on top.
    expect(prt.selfHeatingMk).toBeGreaterThan(0.3)
    expect(prt.selfHeatingMk).toBeLessThan(3.5)
    expect(prt.uSelfHeatingMk).toBeLessThan(1)
    expect(prt.signalZeroCurrent).toBeLessThan(prt.signal!)
  })

  it('reads on all bridges at once, and follows the reference until the slowest has ended', async () => {
    const { finished, points } = await night(planOf([30], { ...hurry, maxWaitS: 7200 }), {
      scenario: 'mixed',
    })
    expect(finished.ending).toMatch(/^complete/)
    const [point] = points
    expect(point!.order.split('; ').length).toBeGreaterThan(1)
    const ref = point!.channels.find((c) => c.channel === 'ref')!
    const last = Math.max(...point!.channels.map((c) => c.lastSeq))
    expect(last - ref.lastSeq).toBeLessThan(12)
    for (const c of point!.channels) expect(c.referenceC).toBeCloseTo(30, 1)
  })

  it('walks a setpoint along a ramp', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      await box.station.startPlan({ plan: planOf([45], { ...hurry, rampKPerMin: 1 }), operator: 'Test' })
      await box.clock.sleep(600_000)
      const reached = box.station.state().runner.bathC!
      expect(reached).toBeGreaterThan(31)
      expect(reached).toBeLessThan(36)
      const { ending } = await box.station.finished
      expect(ending).toBe('complete')
    } finally {
      await box.close()
    }
  })

  it('asks for a bath without a link to be set by hand, and waits for the answer', async () => {
    const byHand = (box: Box) => {
      const { bath, ...bench } = box.lab.bench
      const { instrument: _, ...spec } = bath!
      box.store.saveBench({ ...bench, bath: spec }, 'test', '')
      box.station.touched('bench')
    }
    const n = await night(planOf([28, 31], hurry), { prepare: byHand }, (box) =>
      answering(box, async (words) => {
        const celsius = /to ([\d.]+) °C by hand/.exec(words)![1]!
        await box.clock.sleep(60_000)
        await box.station.converse('bath', `SOUR:TEMP:SPO ${celsius}`, 'M. Ode', true)
        await box.station.converse('bath', 'OUTP ON', 'M. Ode', true)
        return 'Set'
      }),
    )
    expect(n.finished.ending).toBe('complete')
    expect(n.points.map((p) => p.setpointC)).toEqual([28, 31])
    expect(
      n.events.some((e) => e.kind === 'setpoint' && e.words === 'M. Ode has set oil to 28 °C by hand.'),
    ).toBe(true)
  })

  it('checks R(WTP) before and after, and judges by the thermometer’s own limit whether the reference has moved', async () => {
    const LIMIT_MK = 80
    const prepare = (box: Box) => {
      box.store.saveBench({ ...box.lab.bench, bath: { ...box.lab.bench.bath!, lowC: -5 } }, 'test', '')
      box.station.touched('bench')
      const own = box.lab.bench.channels.find((c) => c.role === 'reference')!.thermometer
      const entry = box.store.register().thermometers.find((t) => t.id === own)!
      box.store.saveThermometer({ ...entry, wtpLimitMk: LIMIT_MK }, 'test', '')
    }
    const plan = planOf([20], { ...hurry, wtpCheck: true })
    const n = await night(plan, { prepare }, (box) =>
      answering(box, async (words) => {
        // The bath stands in for the cell here: at 0.01 degC by the lab's own reference, after the plan 50 mK above it.
        if (!words.includes('triple point cell')) return 'It is in the bath'
        const celsius = words.includes('after') ? 0.06 : 0.01
        await box.station.converse('bath', `SOUR:TEMP:SPO ${celsius}`, 'M. Ode', true)
        await box.station.converse('bath', 'OUTP ON', 'M. Ode', true)
        await box.clock.sleep(3_600_000)
        return 'It is in the cell'
      }),
    )
    expect(n.points.map((p) => p.kind)).toEqual(['wtp-before', 'comparison', 'wtp-after'])
    const judged = n.events.filter((e) => e.kind === 'decision')
    expect(judged[0]!.words).toMatch(
      /^R\(WTP\) of Reference SPRT is 25\.\d{6} ohm, [\d.]+ mK (above|below) the register, limit 80(\.0)? mK/,
    )
    // 50 mK are far beyond what the measurement leaves open, and within what the register lets the thermometer do.
    expect(judged.at(-1)!.words).toMatch(
      /mK above the one before the plan, limit 80(\.0)? mK: it has not moved\.$/,
    )
    const { movedMk, uNowMk } = judged.at(-1)!.data as { movedMk: number; uNowMk: number }
    expect(movedMk).toBeGreaterThan(2 * Math.hypot(uNowMk, uNowMk))
    expect(movedMk).toBeLessThan(LIMIT_MK)
  })
})
