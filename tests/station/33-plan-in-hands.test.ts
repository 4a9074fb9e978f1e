import { describe, expect, it } from 'vitest'
import { planOf } from './box.ts'
import { hurry, night } from './plan-night.ts'

describe('a plan in the hands of a person', () => {
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
