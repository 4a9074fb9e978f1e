import { describe, expect, it, onTestFinished } from 'vitest'
import type { Bath, Measured } from '../../app/instruments/faces.ts'
import type { Watch } from '../../app/live/watch.ts'
import type { Bench } from '../../app/records/bench.ts'
import { BathKeeper, type BathKeeperOptions } from '../../main/station/bath-keeper.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import type { Recorder } from '../../main/station/recorder.ts'
import { ReferenceGuard } from '../../main/station/reference-guard.ts'

const LIMITS = {
  lowC: 5,
  highC: 100,
  words: { low: 'l', high: 'h' },
} as unknown as BathKeeperOptions['limits']
const LOOK_MS = 10_000

/** A bath that tells these temperatures, one at each look; a word in place of a number is a mark. */
async function lookedAfter(
  told: readonly (number | 'over-range')[],
  targetC = 60,
  /** What the controller reads back, at each look for it. */
  setpoints: readonly number[] = [targetC],
) {
  const clock = new VirtualClock({ startUtcUs: 0 })
  const troubles: string[] = []
  const sent: number[] = []
  let looks = 0
  let readBacks = 0
  const at = (value: string | undefined, marks: string[] = []) =>
    ({ raw: value ?? '', value, unit: 'degC', marks, at: clock.now() }) as unknown as Measured
  const bath = {
    id: 'bath',
    status: { state: 'ready' },
    readSetpoint: async () => at(String(setpoints[Math.min(readBacks++, setpoints.length - 1)])),
    setSetpoint: async (celsius: number) => void sent.push(celsius),
    readTemperature: async () => {
      const now = told[Math.min(looks++, told.length - 1)]!
      return typeof now === 'number' ? at(String(now)) : at(undefined, [now])
    },
  } as unknown as Bath
  const recorder = {
    stamp: (instant: unknown) => instant,
    take: () => undefined,
    tell: () => undefined,
  } as unknown as Recorder
  const keeper = new BathKeeper({
    bath,
    spec: { safeC: 25 } as BathKeeperOptions['spec'],
    limits: LIMITS,
    clock,
    recorder,
    onTrouble: ({ code }) => troubles.push(code),
    onChange: () => undefined,
  })
  keeper.adopt(targetC)
  keeper.start()
  await clock.sleep(told.length * LOOK_MS - 1)
  await keeper.stop()
  clock.stop()
  expect(looks).toBe(told.length)
  return { troubles, sent }
}

describe('looks at a bath must agree three times in a row', () => {
  it.each([
    ['above its limit', 103, 'over-temperature', 99],
    ['off its way', 70, 'runaway', 60],
    ['without a sensor', 'over-range', 'sensor', 60],
  ] as const)('%s', async (_, bad, code, good) => {
    const targetC = code === 'over-temperature' ? 99 : 60
    expect(await lookedAfter([good, bad, bad, good, bad, bad, good, bad, good], targetC)).toMatchObject({
      troubles: [],
    })
    expect(await lookedAfter([good, bad, bad, bad, good], targetC)).toMatchObject({ troubles: [code] })
  })
})

describe('a setpoint that reads back otherwise', () => {
  /** The setpoint is looked at once a minute, with every sixth look. */
  const minutes = (count: number) => Array<number>(6 * count).fill(60)

  it('is put back only when two looks in a row say so', async () => {
    expect((await lookedAfter(minutes(5), 60, [60, 25, 60, 25, 60])).sent).toEqual([])
    expect((await lookedAfter(minutes(4), 60, [60, 25, 25, 60])).sent).toEqual([60])
  })

  it('is put back twice, and then stops the plan', async () => {
    const { sent, troubles } = await lookedAfter(minutes(7), 60, [25])
    expect(sent).toEqual([60, 60])
    expect(troubles).toEqual(['setpoint-changed'])
  })
})

describe('looks at the reference must agree three times in a row', () => {
  it.each([
    [[101, 103, 103, 101, 103, 103, 101], 0],
    [[101, 103, 103, Number.NaN, 103, 103], 0],
    [[101, 103, 103, 103], 1],
  ] as const)('of %j', async (told, troubles) => {
    const clock = new VirtualClock({ startUtcUs: 0 })
    onTestFinished(() => clock.stop())
    let looks = 0
    let said = 0
    const guard = new ReferenceGuard({
      bench: { channels: [{ id: 'ref', enabled: true, role: 'reference' }] } as unknown as Bench,
      clock,
      recorder: { now: () => clock.now() } as unknown as Recorder,
      watch: {
        silenceS: () => 0,
        celsius: () => told[Math.min(looks++, told.length - 1)],
      } as unknown as Watch,
      limits: LIMITS,
      onGuard: () => true,
      onTrouble: () => said++,
    })
    await clock.sleep(told.length * 5_000 + 1)
    guard.dispose()
    expect(looks).toBe(told.length)
    expect(said).toBe(troubles)
  })
})
