import { join } from 'node:path'
import { expect, it, onTestFinished } from 'vitest'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { Exchange, type ExchangeState } from '../../main/store/laboratory/exchange.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { START_UTC_US, temporaryFolder } from './example.ts'

/** A port of loopback that nothing answers at (RFC 863 gives 9 to the discarding of what is sent). */
const NOBODY = 'postgres://station@127.0.0.1:9/laboratory'

it('tries a database that is away after twice as long each time, up to half a minute, and tells each change once', async () => {
  const clock = new VirtualClock({ startUtcUs: START_UTC_US })
  const store = openStationStore(join(temporaryFolder(), 'data'), { clock })
  onTestFinished(() => {
    store.close()
    clock.stop()
  })
  const told: ExchangeState[] = []
  const rests: number[] = []
  const enough = Promise.withResolvers<void>()
  const exchange: Exchange = new Exchange({
    store,
    url: NOBODY,
    clock: {
      now: () => clock.now(),
      after: (ms, callback) => clock.after(ms, callback),
      sleep: async (ms, signal) => {
        rests.push(ms)
        if (rests.length === 9) enough.resolve()
        if (rests.length >= 9) await new Promise((_, reject) => signal!.addEventListener('abort', reject))
      },
    },
    name: () => 'Bench 1',
    pattern: () => undefined,
    onDidChange: () => told.push(exchange.state),
  })
  expect(exchange.state.state).toBe('connecting')
  await enough.promise
  await exchange.close()
  const expected = [0.5, 1, 2, 4, 8, 16, 30]
  expect(rests).toEqual([...expected, 30, 30].map((s) => 1000 * s))
  expect(told.map(({ state }) => state)).toEqual(expected.map(() => 'away'))
  expect(told.map(({ words }) => Number(/tries again in ([\d.]+) s/.exec(words)?.[1]))).toEqual(expected)
})
