import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  InstrumentError,
  type LinkStatus,
  type Measured,
  type Meter,
  type Scanner,
} from '../../app/instruments/faces.ts'
import { asTold } from '../../app/messages/said.ts'
import { Channel } from '../../app/records/bench.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import type { Intake } from '../../main/station/intake.ts'
import { type Connection, Lane } from '../../main/station/lane.ts'
import { Turnstile } from '../../main/station/signals.ts'
import { EVENING_US } from './box.ts'

/** A scripted bench: instruments that take time, know who uses them, and measure whatever is truly connected. */
class FakeBench {
  readonly clock = new VirtualClock({ startUtcUs: EVENING_US })
  readonly taken: {
    channel: string
    value: string | undefined
    currentMa: number
    discarded: boolean
    atS: number
  }[] = []
  readonly missed: string[] = []
  readonly #doubts = new Set<() => void>()
  readonly doubts = (listener: () => void) => {
    this.#doubts.add(listener)
    return { dispose: () => this.#doubts.delete(listener) }
  }
  readonly overlaps: string[] = []
  readonly scanners = new Map<string, Scanner>()
  readonly turnstiles = new Map<string, Turnstile>()
  readonly connections = new Map<string, Connection>()
  readonly selects: string[] = []
  readonly lanes: Lane[] = []
  readonly heated: string[] = []
  readonly #closed = new Map<string, number>()
  readonly #busy = new Set<string>()

  readonly intake = {
    take: (channel: Channel, measured: Measured, currentMa: number, discarded: boolean) => {
      this.taken.push({
        channel: channel.id,
        value: measured.value,
        currentMa,
        discarded,
        atS: measured.at.monoUs / 1e6,
      })
    },
    takeRow: (
      channel: Channel,
      measured: Measured,
      currentMa: number,
      discarded: boolean,
      alsoOf: ReadonlyMap<number, Channel> = new Map(),
    ) => {
      for (const value of measured.row ?? []) {
        const of = value.input === undefined ? channel : alsoOf.get(value.input)
        if (of) this.intake.take(of, value, currentMa, discarded)
      }
      this.intake.take(channel, measured, currentMa, discarded)
    },
    missed: (channel: Channel) => {
      this.missed.push(channel.id)
    },
  } as unknown as Intake

  scanner(id: string, fails: () => boolean = () => false): void {
    const select = (input: number) =>
      this.#use(id, 20, () => {
        if (fails()) throw new InstrumentError('silent', id, asTold(`${id} does not answer.`))
        this.#closed.set(id, input)
        this.selects.push(`${id}:${input}`)
      })
    this.scanners.set(id, { ...base(id), role: 'scanner', inputs: 16, select })
    this.turnstiles.set(id, new Turnstile())
  }

  /** A bridge whose reading names what it truly sees: its input and what its scanners have closed. */
  lane(id: string, channels: Channel[], readingMs = 500): void {
    let current = 1
    const measure: Meter['measure'] = async ({ input = 1, currentMa = 1 }) => {
      if (currentMa > current) this.#noteHeat(channels, input, currentMa)
      current = currentMa
      await this.#use(id, readingMs, () => {})
      return this.#measured(this.#seen(channels, input))
    }
    const meter = {
      ...base(id),
      role: 'ratio-bridge',
      unit: 'ratio',
      inputs: 4,
      measure,
      onDidDoubt: this.doubts,
    } as Meter
    this.lanes.push(
      new Lane({
        meter,
        channels,
        scanners: this.scanners,
        turnstiles: this.turnstiles,
        connections: this.connections,
        clock: this.clock,
        intake: this.intake,
        scanEveryS: 0,
        onFault: (fault) => {
          throw fault
        },
      }),
    )
  }

  async run(seconds: number): Promise<void> {
    for (const lane of this.lanes) lane.start()
    await this.clock.sleep(seconds * 1000)
    await Promise.all(this.lanes.map((lane) => lane.stop()))
    this.clock.stop()
  }

  #seen(channels: Channel[], input: number): string {
    const route = channels.find((c) => c.input === input)?.route ?? []
    return `${input}${route.map(({ scanner }) => `/${scanner}:${this.#closed.get(scanner) ?? 0}`).join('')}`
  }

  #noteHeat(channels: Channel[], input: number, currentMa: number): void {
    const seen = this.#seen(channels, input)
    const connected = channels.find((c) => pathOf(c) === seen)
    if (connected && currentMa > connected.currentMa * 1.5) this.heated.push(connected.id)
  }

  async #use(id: string, ms: number, act: () => void): Promise<void> {
    if (this.#busy.has(id)) this.overlaps.push(id)
    this.#busy.add(id)
    await this.clock.sleep(ms)
    this.#busy.delete(id)
    act()
  }

  #measured(value: string): Measured {
    return { raw: value, value, unit: 'ratio', marks: [], at: this.clock.now() }
  }
}

const ready = { state: 'ready', words: 'ready' } as LinkStatus
function base(id: string) {
  return {
    id,
    profile: 'fake',
    identity: undefined,
    status: ready,
    open: () => Promise.reject(new Error('not used')),
    close: () => Promise.resolve(),
    onDidChangeStatus: () => ({ dispose: () => {} }),
    onTraffic: () => ({ dispose: () => {} }),
    converse: () => Promise.resolve(undefined),
  }
}

const pathOf = (c: Channel) => `${c.input}${c.route.map((r) => `/${r.scanner}:${r.input}`).join('')}`
const channel = (id: string, instrument: string, route: [string, number][], more: Partial<Channel> = {}) =>
  Channel.parse({
    id,
    name: id,
    role: 'monitor',
    instrument,
    route: route.map(([scanner, input]) => ({ scanner, input })),
    settleMs: 1000,
    ...more,
  })

describe('Lane', () => {
  it('never has two users of one scanner at once, and never gives a reading to another channel', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.integer({ min: 1, max: 3 }),
        fc.array(
          fc.record({
            meter: fc.nat(2),
            near: fc.nat(1),
            far: fc.nat(1),
            inputA: fc.integer({ min: 1, max: 8 }),
            inputB: fc.integer({ min: 1, max: 8 }),
            deep: fc.boolean(),
            current: fc.constantFrom(1, 0.01),
          }),
          { minLength: 2, maxLength: 9 },
        ),
        fc.array(fc.boolean(), { minLength: 7, maxLength: 7 }),
        async (meters, specs, failures) => {
          const bench = new FakeBench()
          let at = 0
          const fails = () => failures[at++ % failures.length]! && at % 3 === 0
          for (const id of ['near0', 'near1', 'far0', 'far1']) bench.scanner(id, fails)
          const channels = specs.map((s, i) =>
            channel(
              `c${i}`,
              `m${s.meter % meters}`,
              s.deep
                ? [
                    [`near${s.near}`, s.inputA],
                    [`far${s.far}`, s.inputB],
                  ]
                : [[`near${s.near}`, s.inputA]],
              { currentMa: s.current },
            ),
          )
          for (let m = 0; m < meters; m++) {
            // One route through each of a meter's inputs, so that what it sees is plain.
            const own = channels.filter((c) => c.instrument === `m${m}`)
            const first = own[0]
            const same = own.filter(
              (c) => c.route.map((r) => r.scanner).join() === first?.route.map((r) => r.scanner).join(),
            )
            if (same.length > 0) bench.lane(`m${m}`, same, 300 + 100 * m)
          }
          await bench.run(60)
          expect(bench.overlaps).toEqual([])
          for (const { channel: id, value, discarded } of bench.taken) {
            if (!discarded) expect(value).toBe(pathOf(channels.find((c) => c.id === id)!))
          }
        },
      ),
      { numRuns: 60 },
    )
  })

  it('runs several bridges at once, none waiting for another', async () => {
    const bench = new FakeBench()
    bench.lane('fast', [channel('a', 'fast', [])], 200)
    bench.lane('slow', [channel('b', 'slow', [])], 5_000)
    await bench.run(100)
    const count = (id: string) => bench.taken.filter((t) => t.channel === id).length
    expect(count('a')).toBeGreaterThan(450)
    expect(count('b')).toBeGreaterThan(17)
  })

  it('waits for a channel to settle after it is connected, and not again while it stays connected', async () => {
    const bench = new FakeBench()
    bench.scanner('s')
    bench.lane('m', [
      channel('a', 'm', [['s', 1]], { readings: 2 }),
      channel('b', 'm', [['s', 2]], { readings: 2 }),
    ])
    await bench.run(30)
    const counted = bench.taken.filter((t) => !t.discarded)
    const gaps = counted
      .slice(1)
      .map((t, i) => [counted[i]!.channel === t.channel, t.atS - counted[i]!.atS] as const)
    for (const [same, gap] of gaps.slice(2)) expect(gap).toBeCloseTo(same ? 0.5 : 1.5, 1)
  })

  it('leaves a scanner alone that has the channel connected already, and tells it again after a minute', async () => {
    const bench = new FakeBench()
    bench.scanner('s')
    bench.lane('m', [channel('a', 'm', [['s', 1]]), channel('b', 'm', [['s', 2]])])
    const [lane] = bench.lanes
    lane!.start()
    const stops = ['a', 'b', 'b', 'b', 'a'].map((id) => ({ channel: id }))
    let from = 0
    await lane!.run(stops, new AbortController().signal, () => {
      from = bench.selects.length
    })
    expect(bench.selects.slice(from)).toEqual(expect.arrayContaining(['s:2', 's:1']))
    expect(bench.selects.slice(from).filter((told) => told === 's:2')).toHaveLength(1)
    await lane!.run([{ channel: 'b', readings: 400 }, { channel: 'b' }], new AbortController().signal, () => {
      from = bench.selects.length
    })
    expect(bench.selects.slice(from, from + 2)).toEqual(['s:2', 's:2'])
    await lane!.stop()
    bench.clock.stop()
  })

  it('lets an input of the meter settle after it is closed, which the first measurement does', async () => {
    const bench = new FakeBench()
    bench.lane('m', [channel('a', 'm', [], { input: 1 }), channel('b', 'm', [], { input: 2 })])
    await bench.run(30)
    const counted = bench.taken.filter((t) => !t.discarded)
    expect(counted.length).toBeGreaterThan(8)
    for (const { channel: id, atS } of counted) {
      // Closed by a reading of half a second that is marked; the other half of the second to settle; the reading itself.
      const closing = bench.taken.findLast((t) => t.atS < atS && t.channel === id)!
      expect(closing.discarded).toBe(true)
      expect(atS - closing.atS).toBeCloseTo(1, 1)
    }
  })

  it('never sends a small thermometer the current of a large one', async () => {
    const bench = new FakeBench()
    bench.scanner('s')
    bench.lane('m', [channel('prt', 'm', [['s', 1]]), channel('bead', 'm', [['s', 2]], { currentMa: 0.01 })])
    await bench.run(60)
    expect(bench.taken.filter((t) => t.channel === 'bead' && !t.discarded).length).toBeGreaterThan(5)
    expect(bench.heated).toEqual([])
    expect(bench.taken.filter((t) => t.channel === 'bead').every((t) => t.currentMa === 0.01)).toBe(true)
  })

  it('runs an order in place of the scan and says whether every stop gave a reading', async () => {
    const bench = new FakeBench()
    let deaf = false
    bench.scanner('s', () => deaf)
    bench.lane('m', [channel('a', 'm', [['s', 1]]), channel('b', 'm', [['s', 2]])])
    const [lane] = bench.lanes
    lane!.start()
    await bench.clock.sleep(5_000)
    let from = 0
    const stops = ['a', 'b', 'b', 'a'].map((id) => ({ channel: id }))
    const whole = await lane!.run(stops, new AbortController().signal, () => {
      from = bench.clock.now().monoUs / 1e6
    })
    expect(whole).toBe(true)
    await lane!.emptied()
    const read = bench.taken.filter((t) => t.atS > from && !t.discarded).map((t) => t.channel)
    expect(read.slice(0, 4)).toEqual(['a', 'b', 'b', 'a'])
    deaf = true
    const broken = await lane!.run([{ channel: 'b' }], new AbortController().signal)
    expect(broken).toBe(false)
    const stop = new AbortController()
    const aborted = lane!.run([{ channel: 'a' }], stop.signal)
    stop.abort(new Error('another turn'))
    await expect(aborted).rejects.toThrow('another turn')
    await lane!.stop()
    bench.clock.stop()
  })

  it('says of a channel that it waits its turn while an order is at others: where it answered last, and the lane is heard', async () => {
    const bench = new FakeBench()
    bench.scanner('s')
    bench.scanner('dead', () => true)
    bench.lane('m', [
      channel('a', 'm', [['s', 1]]),
      channel('b', 'm', [['s', 2]]),
      channel('deaf', 'm', [['dead', 1]]),
    ])
    const [lane] = bench.lanes
    lane!.start()
    await bench.clock.sleep(20_000)
    expect(lane!.waitsItsTurn('b', 10)).toBe(false)
    const done = lane!.run([{ channel: 'a', readings: 60 }], new AbortController().signal)
    await bench.clock.sleep(20_000)
    expect(['a', 'b', 'deaf', 'none'].map((id) => lane!.waitsItsTurn(id, 10))).toEqual([
      true,
      true,
      false,
      false,
    ])
    expect(lane!.waitsItsTurn('b', -1)).toBe(false)
    await done
    expect(lane!.waitsItsTurn('b', 10)).toBe(false)
    await lane!.stop()
    bench.clock.stop()
  })

  it('sets the keep-warm currents of its inputs once, at what supplies them, and again when that was lost', async () => {
    const bench = new FakeBench()
    bench.scanner('s')
    const warmed: string[] = []
    let lose = (_: LinkStatus) => {}
    bench.scanners.set('s', {
      ...bench.scanners.get('s')!,
      keepWarm: (input, currentMa) => Promise.resolve(void warmed.push(`${input}: ${currentMa} mA`)),
      onDidChangeStatus: (listener) => {
        lose = listener
        return { dispose: () => {} }
      },
    })
    bench.lane('m', [
      channel('a', 'm', [['s', 1]], { keepWarmMa: 1 }),
      channel('b', 'm', [['s', 2]]),
      channel('c', 'm', [['s', 3]], { keepWarmMa: 0.5 }),
    ])
    bench.lanes[0]!.start()
    await bench.clock.sleep(60_000)
    expect(warmed).toEqual(['1: 1 mA', '3: 0.5 mA'])
    lose({ ...ready, state: 'ready' })
    await bench.clock.sleep(20_000)
    expect(warmed).toHaveLength(2)
    lose({ ...ready, state: 'lost' })
    await bench.clock.sleep(20_000)
    expect(warmed).toEqual(['1: 1 mA', '3: 0.5 mA', '1: 1 mA', '3: 0.5 mA'])
    await bench.lanes[0]!.stop()
    bench.clock.stop()
  })
})
