import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { bathLimits, refusal } from '../../main/station/bath-limits.ts'
import type { Finished } from '../../main/station/station.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import type { FaultOrder } from '../../simulator/faults/order.ts'
import { type Box, openBox, planOf } from './box.ts'

const OIL = { name: 'Oil', id: 'oil', lowC: -20, highC: 180, flashPointC: 230, marginK: 40, cautions: [] }
const BATH = { name: 'B', lowC: 5, highC: 240, safeC: 25, uniformityMk: 1, stabilityMk: 1 }

describe('bathLimits', () => {
  it('never allows a setpoint above the flash point less its margin, whatever bath and fluid say', () => {
    fc.assert(
      fc.property(
        fc.record({
          highC: fc.double({ min: 30, max: 600, noNaN: true }),
          flash: fc.double({ min: 60, max: 500, noNaN: true }),
          margin: fc.double({ min: 0, max: 60, noNaN: true }),
        }),
        fc.double({ min: -100, max: 700, noNaN: true }),
        ({ highC, flash, margin }, celsius) => {
          const limits = bathLimits(
            { ...BATH, highC },
            { ...OIL, highC: 600, flashPointC: flash, marginK: margin },
          )
          if (refusal(limits, celsius) === undefined) {
            expect(celsius).toBeLessThanOrEqual(flash - margin)
            expect(celsius).toBeLessThanOrEqual(highC)
            expect(celsius).toBeGreaterThanOrEqual(limits.lowC)
          }
        },
      ),
    )
  })

  it('says what sets the limit', () => {
    const limits = bathLimits(BATH, OIL)
    expect(refusal(limits, 185)?.words).toBe('185 °C is above 180 °C, the limit set by the fluid Oil.')
    expect(refusal(bathLimits(BATH, { ...OIL, highC: 300 }), 195)?.words).toContain(
      'the flash point of Oil less 40 K',
    )
    expect(refusal(limits, Number.NaN)?.words).toBe('A setpoint must be a number.')
  })
})

/** Runs a plan to its end; tells how it ended, what the bath's controller holds then, and the hottest the bath came. */
async function night(faults: FaultOrder[], celsius = [60], act?: (box: Box) => Promise<void>) {
  const box = await openBox({ scenario: 'quiet', faults })
  let hottestC = 0
  let running = true
  const follow = async () => {
    while (running) {
      hottestC = Math.max(hottestC, box.lab.truth.bathTemperature('oil'))
      await box.clock.sleep(10_000)
    }
  }
  try {
    const id = await box.station.startPlan({ plan: planOf(celsius, { maxWaitS: 7200 }), operator: 'Test' })
    void follow()
    await act?.(box)
    const finished: Finished = await box.station.finished
    running = false
    const file = openSessionFile(box.store.sessionPath(id), { mode: 'read' })
    const events = file.events()
    const points = file.points()
    file.close()
    const setpoint = await box.station.converse('bath', 'SOUR:TEMP:SPO?', 'Test').catch(() => undefined)
    return { finished, events, points, setpoint, hottestC, alarms: box.station.state().alarms }
  } finally {
    running = false
    await box.close()
  }
}

describe('a bath that runs away', () => {
  it('is sent to its safe setpoint with an alarm and an account', async () => {
    const { finished, alarms, setpoint, hottestC } = await night([
      { kind: 'runaway-heater', instrument: 'bath', atS: 1300 },
    ])
    expect(finished.ending).toBe('stopped-safely')
    expect(finished.reason).toMatch(/away from its setpoint.*safe setpoint, 25 °C/)
    expect(Number(setpoint)).toBe(25)
    expect(hottestC).toBeGreaterThan(65)
    expect(alarms.find((a) => a.severity === 'alarm')).toMatchObject({ active: true })
  })
})

describe('a bath whose sensor breaks', () => {
  it('stops the plan safely, since nobody knows how hot it is', async () => {
    const { finished, points } = await night([{ kind: 'sensor-fault', instrument: 'bath', atS: 1200 }])
    expect(finished.ending).toBe('stopped-safely')
    expect(finished.reason).toMatch(/its sensor is broken/)
    expect(points).toEqual([])
  })

  it('does not heat by a sensor that comes and goes', async () => {
    const { finished, setpoint } = await night([
      { kind: 'sensor-fault', instrument: 'bath', atS: 1200, forS: 60 },
    ])
    expect(finished.ending).toBe('stopped-safely')
    expect(Number(setpoint)).toBe(25)
  })
})

describe('a controller that is switched off and on', () => {
  it('is given its setpoint back, which is written down', async () => {
    const { finished, events } = await night([
      { kind: 'power-cut', instrument: 'bath', atS: 800, forS: 20, link: 'kept' },
    ])
    expect(finished.ending).toMatch(/^complete/)
    expect(events.some((e) => e.kind === 'setpoint' && e.words.includes('switched off and on'))).toBe(true)
  })
})

describe('a controller that does not answer', () => {
  it('stops the plan before anything is heated when it is deaf from the start', async () => {
    const { finished, hottestC } = await night([
      { kind: 'silence', instrument: 'bath', atS: 0, forS: 20_000 },
    ])
    expect(finished.ending).toBe('stopped-safely')
    expect(finished.reason).toMatch(/could not begin|did not take the setpoint/)
    expect(hottestC).toBeLessThan(26)
  })

  it('says in the account that the safe setpoint is not confirmed where it is not', async () => {
    const { finished, alarms } = await night([
      { kind: 'port-vanish', instrument: 'bath', atS: 1200, forS: 30_000 },
    ])
    expect(finished.ending).toBe('stopped-safely')
    expect(finished.reason).toContain('did not confirm its safe setpoint of 25 °C: go and look')
    expect(alarms.some((a) => a.severity === 'alarm' && a.words.includes('go and look'))).toBe(true)
  })
})

describe('a bath that comes back after the plan has given it up', () => {
  it('is still brought to its safe setpoint', async () => {
    const box = await openBox({
      scenario: 'quiet',
      faults: [{ kind: 'port-vanish', instrument: 'bath', atS: 1200, forS: 6000 }],
    })
    try {
      await box.station.startPlan({ plan: planOf([60]), operator: 'Test' })
      const { ending } = await box.station.finished
      expect(ending).toBe('stopped-safely')
      expect(box.station.alarms.active.some((a) => a.words.includes('go and look'))).toBe(true)
      await box.clock.sleep(5_000_000)
      expect(Number(await box.station.converse('bath', 'SOUR:TEMP:SPO?', 'Test'))).toBe(25)
      expect(
        box.station.alarms.active.filter((a) => a.severity === 'alarm' && a.words.includes('go and look')),
      ).toEqual([])
    } finally {
      await box.close()
    }
  })
})

describe('the loss of the reference', () => {
  it('brings the bath to its safe setpoint', async () => {
    const { finished, setpoint } = await night([
      { kind: 'not-a-number', instrument: 'bridge', thermometer: 'sprt-0147', atS: 900, forS: 20_000 },
    ])
    expect(finished.ending).toBe('stopped-safely')
    expect(finished.reason).toMatch(/^The reference has given no usable reading for 10 min/)
    expect(Number(setpoint)).toBe(25)
  })
})

describe('a line typed to the bath', () => {
  it('is held inside the limits of bath and fluid', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      await box.station.connect()
      await box.clock.sleep(10_000)
      await expect(box.station.converse('bath', 'SOUR:TEMP:SPO 149', 'M. Ode')).rejects.toThrow()
      expect(Number(await box.station.converse('bath', 'SOUR:TEMP:SPO?', 'M. Ode'))).toBe(25)
      await box.station.startPlan({ plan: planOf([30]), operator: 'Test' })
      await box.clock.sleep(10_000)
      await expect(box.station.converse('bath', 'SOUR:TEMP:SPO 149', 'M. Ode', true)).rejects.toThrow()
    } finally {
      await box.close()
    }
  })
})
