import { describe, expect, it } from 'vitest'
import type { BathNight } from '../../app/contract/life.ts'
import { messageIn, sentenceOf } from '../../app/messages/said.ts'
import type { Point } from '../../app/records/point.ts'
import type { SessionEvent } from '../../app/records/session.ts'
import type { Finished } from '../../main/station/station.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { bathNights } from '../../main/study/bath-nights.ts'
import { type Box, type BoxOptions, openBox, planOf } from './box.ts'

interface Night {
  readonly finished: Finished
  readonly points: readonly Point[]
  readonly events: readonly SessionEvent[]
  readonly inBath: readonly BathNight[]
  /** Readings in a second: as the preview said, and as they came. */
  readonly perSecond: { readonly foretold: number; readonly came: number }
}

async function night(
  plan: ReturnType<typeof planOf>,
  options: BoxOptions & { prepare?: (box: Box) => void } = {},
  act?: (box: Box) => Promise<void>,
): Promise<Night> {
  const box = await openBox({ scenario: 'quiet', ...options })
  try {
    options.prepare?.(box)
    const preview = box.station.preview(plan)
    const accept = preview.checks.map((c) => c.id)
    const beganUs = box.clock.now().monoUs
    const id = await box.station.startPlan({ plan, operator: 'Test', accept })
    await act?.(box)
    const finished = await box.station.finished
    const file = openSessionFile(box.store.sessionPath(id), { mode: 'read' })
    const tookS = (box.clock.now().monoUs - beganUs) / 1e6
    const found = {
      perSecond: {
        foretold: preview.readings / preview.totalS,
        came: box.store.sessions()[0]!.readings / tookS,
      },
      ...{ finished, points: file.points(), events: file.events() },
      inBath: bathNights([file.path], { id: file.setup.bench.bath!.register!, benches: [] }),
    }
    file.close()
    // Another bath was not in it; one of a session of before is known by its bench and its name there.
    expect(bathNights([file.path], { id: 'another', benches: [] })).toEqual([])
    expect(found.events.filter((event) => !isMadeOfItsMessage(event))).toEqual([])
    return found
  } finally {
    await box.close()
  }
}

/** Answers the station's questions as a person would, until the session ends. */
async function answering(box: Box, answers: (words: string) => Promise<string> | string): Promise<void> {
  while (box.station.session) {
    const question = box.station.state().runner.question
    if (question) box.station.answer(question.id, await answers(question.words), 'M. Ode')
    await box.clock.sleep(5_000)
  }
}

/** An event carries a code and arguments, and its sentence is made of them and of nothing else. */
function isMadeOfItsMessage(event: SessionEvent): boolean {
  const message = messageIn(event)
  return message !== undefined && sentenceOf(message) === event.words
}

const ofRunner = (n: Night) => n.events.filter((e) => e.kind === 'plan-step').map((e) => e.words)
const hurry = { settling: { ...planOf([25]).settling, windowS: 300, holdS: 60, driftMkPerMin: 3 } }

describe('guided checks of a plan', () => {
  it('ask, wait and measure again: places exchanged, thermometers lifted, insulation read', async () => {
    const plan = planOf([25], {
      ...hurry,
      setpoints: [{ celsius: 25, selfHeating: false, exchange: true, lift: true }],
      insulationCheck: true,
    })
    const asked: string[] = []
    const n = await night(plan, {}, (box) =>
      answering(box, (words) => {
        asked.push(words)
        if (words.includes('change places')) return 'They have changed places'
        if (words.startsWith('Pull')) return 'They are lifted'
        if (words.startsWith('Push')) return 'They are back'
        return words.includes('Reference') ? 'Above 1 GΩ' : '1 MΩ to 10 MΩ'
      }),
    )
    expect(n.finished.ending).toBe('complete')
    expect(asked[0]).toMatch(/Reference SPRT to where Industrial PRT A is/)
    expect(n.points.map((p) => [p.id, p.kind])).toEqual([
      ['point-1', 'comparison'],
      ['point-1-exchanged', 'comparison'],
      ['point-1-lifted', 'lift'],
    ])
    expect(n.points[0]!.places).toEqual([
      { channel: 'ref', place: 'place 1' },
      { channel: 'prt-a', place: 'place 2' },
    ])
    expect(n.points[1]!.places!.map((p) => p.place)).toEqual(['place 2', 'place 1'])
    expect(n.points[2]!.liftMm).toBe(20)
    const insulation = n.events.filter((e) => e.data.check === 'insulation')
    expect(insulation.map((e) => e.data.ohm)).toEqual([1e9, 1e6])
  }, 60_000)

  it('goes on without a check that a person leaves out, and says so', async () => {
    const plan = planOf([25], {
      ...hurry,
      setpoints: [{ celsius: 25, selfHeating: false, exchange: true }],
    })
    const n = await night(plan, {}, (box) => answering(box, () => 'Leave it out'))
    expect(n.finished.ending).toBe('complete-with-marks')
    expect(n.finished.reason).toMatch(/exchange of places was left out by M. Ode/)
    expect(n.points).toHaveLength(1)
  }, 60_000)
})

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

  describe('that cannot settle', () => {
    const never = { maxWaitS: 1500, settling: { ...planOf([25]).settling, spreadMk: 0.0001 } }

    it('takes the point marked when told so', async () => {
      const { finished, points } = await night(planOf([30], { ...never, onTimeout: 'take-marked' }))
      expect(finished.ending).toBe('complete-with-marks')
      expect(finished.reason).toMatch(
        /30 °C did not settle within 25 min \(.*Standard deviation .* mK, limit 0\.0001.*taken and marked/,
      )
      expect(points[0]).toMatchObject({ settled: false, marks: expect.arrayContaining(['not settled']) })
    })

    it('skips it when told so', async () => {
      const { finished, points } = await night(planOf([30], { ...never, onTimeout: 'skip' }))
      expect(finished).toMatchObject({
        ending: 'complete-with-marks',
        reason: expect.stringContaining('skipped'),
      })
      expect(points).toEqual([])
    })

    it('stops safely when told so', async () => {
      const { finished } = await night(planOf([30], { ...never, onTimeout: 'stop' }))
      expect(finished).toMatchObject({
        ending: 'stopped-safely',
        reason: expect.stringContaining('the plan says to stop'),
      })
    })

    it('extends the wait when told so, but not for ever', async () => {
      const n = await night(planOf([30], { ...never, onTimeout: 'extend' }))
      expect(ofRunner(n).filter((w) => w.includes('the wait is extended'))).toHaveLength(3)
      expect(n.finished.ending).toBe('complete-with-marks')
    })
  })

  describe('in the hands of a person', () => {
    it('takes a point at once, and says by whom and why', async () => {
      const { finished, points } = await night(planOf([30]), {}, async (box) => {
        await box.clock.sleep(400_000)
        box.station.takeNow('M. Ode', 'the customer waits')
      })
      expect(finished.ending).toBe('complete-with-marks')
      expect(points[0]).toMatchObject({ settled: false, reason: 'Taken by M. Ode: the customer waits' })
    })

    it('skips a setpoint', async () => {
      const { finished, points } = await night(planOf([60, 27], hurry), {}, async (box) => {
        await box.clock.sleep(100_000)
        box.station.skip('M. Ode', 'not needed')
      })
      expect(finished.ending).toBe('complete-with-marks')
      expect(points.map((p) => p.setpointC)).toEqual([27])
    })

    it('pauses, goes on measuring meanwhile, and resumes with a fresh window', async () => {
      const n = await night(planOf([28], hurry), {}, async (box) => {
        await box.clock.sleep(200_000)
        box.station.pause('M. Ode', 'lunch')
        expect(() => box.station.pause('M. Ode', 'again')).toThrow('cannot be paused now')
        const before = box.station.state().session!.readings
        await box.clock.sleep(3_600_000)
        expect(box.station.state().runner).toMatchObject({
          phase: 'paused',
          words: expect.stringContaining('paused'),
        })
        expect(box.station.state().session!.readings).toBeGreaterThan(before + 300)
        box.station.resume('M. Ode')
        // Nobody knows what was done to the bath meanwhile: its setpoint is confirmed before anything is waited for.
        expect(box.station.session!.runner!.state.phase).toBe('setting')
      })
      expect(n.finished.ending).toBe('complete')
      expect(n.points[0]!.startUtcUs - n.events[0]!.utcUs).toBeGreaterThan(3_600e6)
    })

    it('stops, with the bath at its safe setpoint and the reason kept', async () => {
      const { finished } = await night(planOf([60]), {}, async (box) => {
        await box.clock.sleep(300_000)
        box.station.stop('M. Ode', 'wrong thermometer')
      })
      expect(finished).toMatchObject({
        ending: 'stopped-by-person',
        reason: 'Stopped by M. Ode: wrong thermometer. The bath is set to its safe setpoint, 25 °C.',
      })
    })
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
