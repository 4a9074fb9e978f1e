import { describe, expect, it, onTestFinished } from 'vitest'
import type { Said } from '../../app/messages/said.ts'
import type { Bench } from '../../app/records/bench.ts'
import { AlarmDesk } from '../../main/station/alarm-desk.ts'
import { bathLimits, refusal } from '../../main/station/bath-limits.ts'
import { ClockGuard } from '../../main/station/clock-guard.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { DiskGuard, type DiskGuardParts } from '../../main/station/disk-guard.ts'
import { ReferenceGuard, type ReferenceGuardParts } from '../../main/station/reference-guard.ts'
import { Signal } from '../../main/station/signals.ts'
import { asStoreError } from '../../main/store/errors.ts'
import { BENCH } from '../app/results/bench-fixture.ts'

function virtualClock() {
  const clock = new VirtualClock({ startUtcUs: 0 })
  onTestFinished(() => clock.stop())
  return clock
}

describe('bathLimits', () => {
  const spec = { ...BENCH.bath!, name: 'oil', lowC: -20, highC: 150 }
  const fluid = { id: 'f', name: 'Silicone oil', lowC: -10, highC: 200, marginK: 40, cautions: [] }

  it('is the narrowest of bath, fluid and flash point less its margin, and says which', () => {
    expect(bathLimits(spec, undefined)).toEqual({ lowC: -20, highC: 150, because: 'the bath oil' })
    expect(bathLimits(spec, fluid)).toEqual({ lowC: -10, highC: 150, because: 'the bath oil' })
    expect(bathLimits(spec, { ...fluid, lowC: -30, highC: 120 })).toEqual({
      ...{ lowC: -20, highC: 120, because: 'the fluid Silicone oil' },
    })
    expect(bathLimits(spec, { ...fluid, highC: 120, flashPointC: 155 })).toEqual({
      ...{ lowC: -10, highC: 115, because: 'the flash point of Silicone oil less 40 K' },
    })
  })

  it('allows a setpoint at either limit, and refuses one beyond or no number in words', () => {
    const limits = { lowC: -10, highC: 115, because: 'the fluid Silicone oil' }
    const words = (celsius: number) => refusal(limits, celsius)?.words
    expect([-10, 20, 115].map(words)).toEqual([undefined, undefined, undefined])
    expect(words(115.01)).toMatch(/^115\.01 °C is above 115 °C, the limit set by the fluid Silicone oil/)
    expect(words(-10.5)).toMatch(/^-10\.5 °C is below -10 °C/)
    for (const none of [Number.NaN, Number.POSITIVE_INFINITY])
      expect(words(none)).toBe('A setpoint must be a number.')
  })
})

describe('ClockGuard', () => {
  it('tells of a step of the wall clock either way, once, and not of slewing', async () => {
    const clock = virtualClock()
    let offUs = 0
    const steps: number[] = []
    const guard = new ClockGuard(
      {
        now: () => ({ ...clock.now(), utcUs: clock.now().utcUs + offUs }),
        after: (ms, act) => clock.after(ms, act),
        sleep: (ms) => clock.sleep(ms),
      },
      (seconds) => steps.push(seconds),
    )
    for (let s = 0; s < 10; s += 1) {
      offUs += 250_000
      await clock.sleep(1_000)
    }
    expect(steps).toEqual([])
    offUs += 260_000
    await clock.sleep(5_000)
    offUs -= 3_600e6
    await clock.sleep(5_000)
    expect(steps).toEqual([0.26, -3_600])
    guard.dispose()
    offUs += 10e6
    await clock.sleep(5_000)
    expect(steps).toHaveLength(2)
  })
})

describe('ReferenceGuard', () => {
  function guarded(channels: Bench['channels'] = BENCH.channels, bornS = 0) {
    const clock = virtualClock()
    const state = { celsius: 20 as number, lastS: 0, onGuard: true }
    const troubles: [key: string, words: string][] = []
    const nowS = () => clock.now().monoUs / 1e6 + bornS
    const guard = new ReferenceGuard({
      bench: { ...BENCH, channels },
      clock,
      recorder: { now: () => ({ utcUs: 0, monoUs: nowS() * 1e6 }) },
      watch: { silenceS: () => nowS() - state.lastS, celsius: () => state.celsius },
      limits: { lowC: 0, highC: 100, because: '' },
      onGuard: () => state.onGuard,
      onTrouble: (why: Said, key: string) => troubles.push([key, why.words]),
    } as unknown as ReferenceGuardParts)
    onTestFinished(() => guard.dispose())
    return { clock, state, troubles }
  }

  it('takes a reference for lost that has not counted for ten minutes, and not for what was before this life', async () => {
    const { clock, troubles } = guarded(undefined, 5_000)
    await clock.sleep(601_000)
    expect(troubles).toEqual([])
    await clock.sleep(5_000)
    expect(troubles).toEqual([['reference-lost', 'The reference has given no usable reading for 10 min.']])
  })

  it('takes no notice while the bath is at its safe setpoint, or where there is no reference', async () => {
    const { clock, state, troubles } = guarded()
    state.onGuard = false
    state.celsius = 500
    const none = guarded(BENCH.channels.map((c) => ({ ...c, enabled: c.role !== 'reference' })))
    await Promise.all([clock.sleep(3_600_000), none.clock.sleep(3_600_000)])
    expect([...troubles, ...none.troubles]).toEqual([])
  })

  it('tells of one that reads more than 2 K over the limit in three looks running', async () => {
    const { clock, state, troubles } = guarded()
    const look = async (celsius: number) => {
      state.celsius = celsius
      state.lastS = clock.now().monoUs / 1e6
      await clock.sleep(5_000)
      return troubles.length
    }
    const seen: number[] = []
    await clock.sleep(1_000)
    for (const celsius of [102, 102, 102, 103, 103, 102, 103, 103]) seen.push(await look(celsius))
    expect(seen).toEqual([0, 0, 0, 0, 0, 0, 0, 0])
    expect(await look(103)).toBe(1)
    expect(troubles).toEqual([
      ['reference-over-temperature', 'The reference reads 103 °C, above the limit of 100 °C.'],
    ])
    expect(await look(Number.NaN)).toBe(1)
  })
})

describe('DiskGuard', () => {
  it('gives up the room set aside on a full disk alone, and alarms until it can be set aside again', async () => {
    const clock = virtualClock()
    const onDidFail = new Signal<unknown>()
    const onDidRecover = new Signal<void>()
    const alarms = new AlarmDesk(clock)
    const errors: unknown[] = []
    const room = { held: true, free: true, asked: 0 }
    const guard = new DiskGuard({
      ...{ alarms, clock, recorder: { onDidFail, onDidRecover } },
      log: { error: (what: unknown) => errors.push(what) },
      reserve: {
        get held() {
          return room.held
        },
        release: () => {
          room.held = false
        },
        hold: () => {
          room.asked += 1
          room.held = room.free
          return room.free
        },
      },
    } as unknown as DiskGuardParts)
    const raised: string[] = []
    alarms.obey = (cause) => {
      raised.push(cause.said.words)
      return cause
    }
    const said = () => raised.splice(0)
    const holds = () => alarms.active.length > 0
    onDidFail.emit(new Error('The cable is out'))
    expect(room.held).toBe(true)
    expect(said()).toEqual([expect.stringContaining('The cable is out')])
    const full = asStoreError(Object.assign(new Error('full'), { code: 'ENOSPC' }), 'a.session')
    onDidFail.emit(full)
    expect(room.held).toBe(false)
    expect(said()).toEqual([expect.stringContaining('What was set aside for this is in use')])
    onDidFail.emit(full)
    expect(said()).toEqual([expect.not.stringContaining('set aside')])
    expect(errors).toHaveLength(3)
    room.free = false
    onDidRecover.emit()
    onDidRecover.emit()
    expect(said()).toEqual(Array(2).fill(expect.stringContaining('The disk is nearly full')))
    // Two recoveries, and one look a minute later: the first one's look was given up.
    await clock.sleep(61_000)
    expect([room.asked, holds()]).toEqual([3, true])
    room.free = true
    await clock.sleep(60_000)
    expect(holds()).toBe(false)
    await clock.sleep(600_000)
    expect(room.asked).toBe(4)
    guard.dispose()
    onDidFail.emit(full)
    expect(holds()).toBe(false)
  })
})
