import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Identity } from '../../../app/instruments/faces.ts'
import { asTold } from '../../../app/messages/said.ts'
import { backoffMs } from '../../../drivers/link/backoff.ts'
import type { Conversation } from '../../../drivers/link/conversation.ts'
import { Link } from '../../../drivers/link/link.ts'
import { WireFault, type WireListener } from '../../../drivers/link/wire.ts'
import { VirtualClock } from '../../../main/station/clocks/virtual.ts'
import { ask, FRAMING } from './wire-stub.ts'

const ME: Identity = { maker: 'Q', model: 'X', serial: '1', firmware: '1', raw: 'Q,X,1,1' }

/** A link whose far end answers `*IDN?` and `N?` (with a running number), and can be cut or made to refuse. */
function setUp() {
  const clock = new VirtualClock({ startUtcUs: 0 })
  const wires: { sent: string[]; listener: WireListener }[] = []
  const far = { refuses: false, mute: false, identity: 'Q,X,1,1', count: 0 }
  const link = new Link({
    name: 'bridge',
    clock,
    random: () => 0.5,
    framing: FRAMING,
    pace: { interByteMs: 100, lateMs: 500, gapMs: 0 },
    quietMs: 20,
    connect: async (listener) => {
      if (far.refuses) throw new WireFault('no-such-port', asTold('the port is not there.'))
      const sent: string[] = []
      wires.push({ sent, listener })
      return {
        write: (bytes) => {
          sent.push(bytes)
          const reply = bytes === '*IDN?\n' ? far.identity : String(++far.count)
          if (!far.mute) clock.after(5, () => listener.data(Buffer.from(`${reply}\n`)))
        },
        destroy: () => {},
      }
    },
    identify: async (talk) => {
      const { kind, text } = await talk.exchange(ask('*IDN?'))
      if (kind !== 'reply') throw new WireFault('silent', asTold('nobody answers.'))
      return { ...ME, serial: text.split(',')[2]!, raw: text }
    },
    recover: async (talk) =>
      (await talk.exchange(ask('*IDN?', { accept: (text: string) => text === far.identity }))).kind ===
      'reply',
  })
  const read = (line = 'N?') => link.run((talk: Conversation) => talk.exchange(ask(line)))
  const cut = () => wires.at(-1)!.listener.closed(new WireFault('lost', asTold('the cable was pulled.')))
  return { clock, link, far, wires, read, cut }
}

describe('Link', () => {
  it('sends nothing but the question for the identity before it is ready', async () => {
    const { link, wires, read } = setUp()
    await expect(read()).rejects.toMatchObject({ code: 'not-open' })
    expect(await link.open()).toMatchObject({ serial: '1' })
    expect(wires.map((wire) => wire.sent)).toEqual([['*IDN?\n']])
    expect(link.status.state).toBe('ready')
  })

  it('runs tasks one after another, each alone on the line', async () => {
    const { link, read, wires } = setUp()
    await link.open()
    const pair = link.run(async (talk) => [
      (await talk.exchange(ask('A'))).text,
      (await talk.exchange(ask('B'))).text,
    ])
    const texts = await Promise.all([pair, read('C'), read('D')])
    expect(texts[0]).toEqual(['1', '2'])
    expect(wires[0]!.sent).toEqual(['*IDN?\n', 'A\n', 'B\n', 'C\n', 'D\n'])
  })

  it('refuses what waited when the wire goes, and never sends it later', async () => {
    const { link, read, wires, cut, clock } = setUp()
    await link.open()
    const running = read('SPO 50')
    const waiting = [read('SPO 60'), read('SPO 70')]
    const refused = Promise.allSettled(waiting)
    cut()
    expect((await running).kind).toBe('lost')
    for (const each of await refused)
      expect(each).toMatchObject({ status: 'rejected', reason: { code: 'lost' } })
    await clock.sleep(5000)
    expect(link.status.state).toBe('ready')
    expect(wires.map((wire) => wire.sent)).toEqual([['*IDN?\n', 'SPO 50\n'], ['*IDN?\n']])
  })

  it('makes a new wire for each attempt and comes back by itself', async () => {
    const { link, far, cut, clock, read } = setUp()
    const states: string[] = []
    link.onDidChangeStatus((status) => states.push(status.state))
    await link.open()
    far.refuses = true
    cut()
    await clock.sleep(20_000)
    expect(link.status.state).toBe('lost')
    expect(link.status.words).toMatch(/not there\. Trying again\./)
    far.refuses = false
    await clock.sleep(31_000)
    expect(link.status.state).toBe('ready')
    expect((await read()).kind).toBe('reply')
    expect(states[0]).toBe('connecting')
    expect(states.at(-1)).toBe('ready')
  })

  it('goes on trying after a first attempt that failed, which it reports', async () => {
    const { link, far, clock } = setUp()
    far.refuses = true
    await expect(link.open()).rejects.toMatchObject({ code: 'no-such-port', instrument: 'bridge' })
    far.refuses = false
    await clock.sleep(3000)
    expect(link.status.state).toBe('ready')
  })

  it('does not take another instrument for the one that was lost', async () => {
    const { link, far, cut, clock } = setUp()
    await link.open()
    far.identity = 'Q,X,2,1'
    cut()
    await clock.sleep(10_000)
    expect(link.status.state).toBe('lost')
    expect(link.status.words).toContain('another instrument answers here')
    far.identity = 'Q,X,1,1'
    await clock.sleep(60_000)
    expect(link.status.state).toBe('ready')
  })

  it('clears the link after a missed answer before the next task runs', async () => {
    const { link, far, read, wires, clock } = setUp()
    await link.open()
    far.mute = true
    const words: string[] = []
    link.onDidChangeStatus((status) => words.push(status.words))
    const missed = read()
    const next = read()
    expect((await missed).kind).toBe('silent')
    far.mute = false
    expect(await next).toMatchObject({ kind: 'reply' })
    expect(wires).toHaveLength(1)
    expect(wires[0]!.sent).toEqual(['*IDN?\n', 'N?\n', '*IDN?\n', 'N?\n'])
    expect(link.status.faults).toBe(1)
    expect(words).toEqual(['clearing the link: no answer within 1000 ms', 'ready'])
    clock.stop()
  })

  it('reconnects when nothing recognisable comes after a fault', async () => {
    const { link, far, read, wires, clock } = setUp()
    await link.open()
    far.mute = true
    expect((await read()).kind).toBe('silent')
    await clock.sleep(4000)
    expect(link.status.state).toBe('lost')
    far.mute = false
    await clock.sleep(60_000)
    expect(link.status.state).toBe('ready')
    expect(wires.length).toBeGreaterThan(1)
  })

  it('is over when it is closed: no attempt, no timer, no answer', async () => {
    const { link, far, cut, clock, read, wires } = setUp()
    await link.open()
    far.refuses = true
    cut()
    await link.close()
    far.refuses = false
    await clock.sleep(100_000)
    expect(wires).toHaveLength(1)
    expect(link.status.state).toBe('stopped')
    await expect(read()).rejects.toMatchObject({ code: 'stopped' })
    await expect(link.open()).rejects.toMatchObject({ code: 'stopped' })
  })
})

describe('backoffMs', () => {
  it('grows, and stays below a second so that an instrument that is put back is taken at once', () => {
    fc.assert(
      fc.property(
        fc.nat({ max: 1000 }),
        fc.double({ min: 0, max: 0.999, noNaN: true }),
        (attempt, random) => {
          const ms = backoffMs(attempt, () => random)
          expect(ms).toBeGreaterThanOrEqual(150)
          expect(ms).toBeLessThan(1000)
          expect(backoffMs(attempt + 2, () => random)).toBeGreaterThanOrEqual(ms)
        },
      ),
    )
  })
})
