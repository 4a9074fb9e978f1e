import { afterEach, describe, expect, it } from 'vitest'
import type { Clock } from '../../app/base/clock.ts'
import { type AnyInstrument, InstrumentError, type Measured } from '../../app/instruments/faces.ts'
import type { BenchInstrument } from '../../app/records/bench.ts'
import { loadProfiles, openInstrument } from '../../drivers/index.ts'
import { tcpConnect } from '../../drivers/link/tcp.ts'
import type { Connect } from '../../drivers/link/wire.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { type Lab, startLab } from '../../simulator/lab.ts'
import { randomStream } from '../../simulator/physics/randomness.ts'

const profiles = await loadProfiles()
const unhandled: unknown[] = []
process.on('unhandledRejection', (reason) => unhandled.push(reason))

let clock: VirtualClock
let lab: Lab
afterEach(async () => {
  await lab.close()
  clock.stop()
})

/** Draws from 0 to below 1, the same for the same seed. */
function dice(seed: number): () => number {
  const stream = randomStream(seed, 'fuzz')
  return () => stream.uniform()
}

type Mutation = (bytes: Buffer, draw: () => number) => { pieces: Buffer[]; waitMs: number[] }

const whole = (...pieces: Buffer[]) => ({ pieces, waitMs: pieces.map(() => 0) })
const at = (bytes: Buffer, draw: () => number) => Math.floor(draw() * bytes.length)

/** Damage that shows in any language, with or without a check value. */
const PLAIN: Record<string, Mutation> = {
  lost: () => whole(),
  truncated: (bytes, draw) => whole(bytes.subarray(0, at(bytes, draw))),
  'every byte alone': (bytes) => whole(...Array.from(bytes, (byte) => Buffer.from([byte]))),
  'cut with a pause': (bytes, draw) => {
    const place = at(bytes, draw)
    return { pieces: [bytes.subarray(0, place), bytes.subarray(place)], waitMs: [0, draw() * 1500] }
  },
  late: (bytes, draw) => ({ pieces: [bytes], waitMs: [draw() * 6000] }),
  doubled: (bytes) => whole(bytes, bytes),
  'high bits': (bytes, draw) => {
    const changed = Buffer.from(bytes)
    changed[at(bytes, draw)]! |= 0x80
    return whole(changed)
  },
  'a zero byte': (bytes, draw) => {
    const place = at(bytes, draw)
    return whole(bytes.subarray(0, place), Buffer.from([0]), bytes.subarray(place))
  },
  'garbage before': (bytes, draw) =>
    whole(Buffer.from(Array.from({ length: 9 }, () => 128 + Math.floor(draw() * 128))), bytes),
  'ten kilobytes without an end': () => whole(Buffer.alloc(10_000, 0x55)),
}

/** Damage to single characters, which only a check value can find. */
const CHECKED: Record<string, Mutation> = {
  'another character': (bytes, draw) => {
    const changed = Buffer.from(bytes)
    const place = at(bytes, draw)
    changed[place] = 0x20 + Math.floor(draw() * 0x5f)
    return whole(changed)
  },
}

/** Passes what an instrument says on, damaged now and then; keeps what it truly said. */
function fuzzed(
  inner: Connect,
  time: Clock,
  mutations: readonly Mutation[],
  draw: () => number,
  said: string[],
): Connect {
  return (listener, signal) =>
    inner(
      {
        ...listener,
        data: (chunk) => {
          const bytes = Buffer.from(chunk)
          said.push(bytes.toString('latin1'))
          if (draw() > 0.12) return listener.data(bytes)
          const mutation = mutations[Math.floor(draw() * mutations.length)]!
          const { pieces, waitMs } = mutation(bytes, draw)
          let after = 0
          pieces.forEach((piece, i) => {
            after += waitMs[i] ?? 0
            if (after === 0) listener.data(piece)
            else time.after(after, () => listener.data(piece))
          })
        },
      },
      signal,
    )
}

async function fuzz(
  id: string,
  checked: boolean,
  rounds: number,
  act: (instrument: AnyInstrument, round: number) => Promise<readonly Measured[]>,
) {
  clock = new VirtualClock({ startUtcUs: 0 })
  lab = await startLab({ seed: 11, clock, scenario: 'mixed' })
  const spec = lab.bench.instruments.find((each) => each.id === id) as BenchInstrument
  const said: string[] = []
  const mutations = Object.values(checked ? { ...PLAIN, ...CHECKED } : PLAIN)
  if (spec.link.kind !== 'tcp') throw new Error('the lab should be on TCP')
  const inner = tcpConnect({ ...spec.link, connectMs: 2000, owner: id }, clock)
  const connect = fuzzed(inner, clock, mutations, dice(rounds), said)
  const instrument = openInstrument({ spec, clock, profiles, random: dice(3), connect })
  await instrument.open().catch(() => undefined)
  let good = 0
  let longestUs = 0
  for (let round = 0; round < rounds; round++) {
    const startUs = clock.now().monoUs
    // A talker's newest telegram may be older than the question; an answer may not.
    if (id !== 'air') said.length = 0
    try {
      for (const measured of await act(instrument, round)) {
        if (measured.value === undefined) {
          expect(measured.marks.length).toBeGreaterThan(0)
          continue
        }
        // What was reported as a value was said by the instrument, digit for digit (a decimal comma apart).
        const asSaid = [measured.value, measured.value.replace('.', ',')]
        expect(said.some((text) => asSaid.some((value) => text.includes(value)))).toBe(true)
        good++
      }
    } catch (error) {
      expect(error).toBeInstanceOf(InstrumentError)
    }
    longestUs = Math.max(longestUs, clock.now().monoUs - startUs)
    await clock.sleep(100)
    if (said.length > 400) said.splice(0, 200)
  }
  await instrument.close()
  return { good, longestS: longestUs / 1e6 }
}

/** Instruments, whether their replies carry a check value, and what is done with them again and again. */
const CASES: readonly (readonly [
  id: string,
  checked: boolean,
  rounds: number,
  act: Parameters<typeof fuzz>[3],
])[] = [
  [
    'bridge',
    false,
    400,
    async (i, n) =>
      'measure' in i ? [await i.measure({ input: 2, average: 1 + (n % 3), currentMa: 1 })] : [],
  ],
  [
    'old-bridge',
    true,
    300,
    async (i, n) => ('measure' in i ? [await i.measure({ input: 1 + (n % 2), average: 1 })] : []),
  ],
  ['meter', false, 1500, async (i) => ('measure' in i ? [await i.measure({ input: 2, average: 1 })] : [])],
  [
    'bath',
    false,
    400,
    async (i) => ('readTemperature' in i ? [await i.readTemperature(), await i.readSetpoint()] : []),
  ],
  [
    'old-bath',
    false,
    300,
    async (i) => ('readTemperature' in i ? [await i.readTemperature(), await i.readSetpoint()] : []),
  ],
  [
    'air',
    true,
    200,
    async (i) => {
      await clock.sleep(7000)
      return 'readAll' in i ? (await i.readAll()).map((each) => each.measured) : []
    },
  ],
]

describe('an instrument whose replies are damaged at random', () => {
  it.each(CASES)(
    '%s: no crash, no hang, no value that was not sent',
    async (id, checked, rounds, act) => {
      const { good, longestS } = await fuzz(id, checked, rounds, act)
      // Most readings survive, so the test would see a wrong one; none takes longer than its deadlines and a reconnect.
      expect(good).toBeGreaterThan(rounds / 8)
      expect(longestS).toBeLessThan(60)
      expect(unhandled).toEqual([])
    },
    60_000,
  )

  it.each(['scanner', 'old-scanner'])(
    '%s: an input is reported as connected only when the scanner said so',
    async (id) => {
      let connected = 0
      await fuzz(id, id === 'old-scanner', 1500, async (instrument, round) => {
        if ('select' in instrument) await instrument.select(1 + (round % 16))
        connected++
        return []
      })
      expect(connected).toBeGreaterThan(400)
      expect(unhandled).toEqual([])
    },
    60_000,
  )

  it('never lets a bath report a setpoint it did not take', async () => {
    let confirmed = 0
    await fuzz('bath', false, 1500, async (bath, round) => {
      if (!('setSetpoint' in bath)) return []
      const celsius = 20 + (round % 40)
      await bath.setSetpoint(celsius)
      confirmed++
      return []
    })
    expect(confirmed).toBeGreaterThan(400)
  }, 60_000)
})
