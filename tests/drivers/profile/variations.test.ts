import { afterEach, describe, expect, it } from 'vitest'
import type { AnyInstrument, Meter, Scanner } from '../../../app/instruments/faces.ts'
import { asTold } from '../../../app/messages/said.ts'
import { WireFault, type WireListener } from '../../../drivers/link/wire.ts'
import { openInstrument } from '../../../drivers/open.ts'
import { defineDriver } from '../../../drivers/profile/define.ts'
import type { ProfileText } from '../../../drivers/profile/schema.ts'
import { ScriptedPeer } from '../../../drivers/profile/scripted-peer.ts'
import { VirtualClock } from '../../../main/station/clocks/virtual.ts'

/**
 * Points in which instruments differ that the lab's eight do not show: each is a profile of its own, data only, spoken with
 * a scripted peer that fails on wrong, missing and left-over lines.
 */
const READ = {
  doc: 'Measure.',
  send: 'R',
  risk: 'read-only',
  answer: { kind: 'value', unit: 'ohm' },
} as const
const BASE: ProfileText = {
  format: 'stillpoint profile 1',
  id: 'variation',
  title: 'variation',
  role: 'meter',
  language: 'plain',
  unit: 'ohm',
  framing: { send: '\r', receive: '\r' },
  timing: { firstByteMs: 500, lateMs: 200, quietMs: 20 },
  identity: { ask: 'who', pattern: '^ME$' },
  commands: {
    who: { doc: 'The identity.', send: 'I', risk: 'read-only', answer: { kind: 'text' } },
    read: { ...READ, doc: 'The resistance.' },
  },
  capabilities: { measure: ['read'] },
}
const read = (more: object) => ({
  commands: { ...BASE.commands, read: { ...READ, doc: 'The resistance.', ...more } },
})

let clock: VirtualClock
let instrument: AnyInstrument
afterEach(async () => {
  await instrument.close()
  clock.stop()
})

async function open(more: object, lines: readonly string[]): Promise<{ meter: Meter; peer: ScriptedPeer }> {
  clock = new VirtualClock({ startUtcUs: 0 })
  const driver = defineDriver('test', { ...BASE, ...more } as ProfileText)
  const peer = new ScriptedPeer(clock)
  peer.expect(lines)
  instrument = openInstrument({
    spec: { id: 'v', name: 'v', profile: 'variation', link: { kind: 'tcp', host: 'script', port: 1 } },
    clock,
    profiles: { profiles: new Map([['variation', driver]]), problems: [] },
    random: () => 0.5,
    connect: peer.connect,
  })
  await instrument.open()
  return { meter: instrument as Meter, peer }
}

async function measure(more: object, lines: readonly string[]) {
  const { meter, peer } = await open(more, lines)
  const measured = await meter.measure({})
  peer.finish('end')
  expect(peer.problems).toEqual([])
  return measured
}

const OPEN = ['> I\r', '< ME\r']

describe('a profile', () => {
  it('speaks a fixed number of bytes without terminator', async () => {
    const framing = { send: '', receive: { length: 6 } }
    const identity = { ask: 'who', pattern: '^ME....$' }
    expect(await measure({ framing, identity }, ['> I', '< ME....', '> R', '< 100.25'])).toMatchObject({
      value: '100.25',
      marks: [],
    })
  })

  it('takes silence for the end of a reply', async () => {
    const framing = { send: '\r', receive: { silenceMs: 30 } }
    const lines = ['> I\r', '< M', 'wait 10', '< E', '> R\r', '< 100', 'wait 20', '< .25']
    expect(await measure({ framing }, lines)).toMatchObject({ value: '100.25', marks: [] })
  })

  it('asks before it speaks where a handshake is wanted, and thanks after each reply', async () => {
    const framing = { send: '\r', receive: '\r', handshake: { ask: '\x05', expect: '\x06' }, thank: '\x06' }
    // Identity is asked plainly: whoever has not been identified is told nothing else.
    const lines = [...OPEN, '> \x05', '< \x06', '> R\r', '< 100.25\r', '> \x06']
    expect(await measure({ framing }, lines)).toMatchObject({ value: '100.25', marks: [] })
  })

  it('reads single acknowledgement bytes without terminator', async () => {
    const more = {
      role: 'scanner',
      unit: undefined,
      inputs: { count: 4, first: 0 },
      framing: { send: '\r', receive: '\r', tokens: ['\x06', '\x15'], characters: 'latin1' },
      errors: {
        kind: 'reply',
        pattern: '^(?<code>\x15)$',
        meanings: { '\x15': { words: 'not acknowledged' } },
      },
      commands: {
        ...BASE.commands,
        go: {
          doc: 'The input.',
          send: 'S{input}',
          risk: 'setting',
          answer: { kind: 'acknowledge', pattern: '^\x06$' },
        },
      },
      capabilities: { select: ['go'] },
    }
    const { peer } = await open(more, [...OPEN, '> S1\r', '< \x06', '> S2\r', '< \x15'])
    const scanner = instrument as unknown as Scanner
    await scanner.select(2)
    await expect(scanner.select(3)).rejects.toMatchObject({ code: 'instrument-said' })
    peer.finish('end')
    expect(peer.problems).toEqual([])
  })

  it('asks until the work is done, and not longer than that may take beside what it takes', async () => {
    const status = {
      doc: 'The status.',
      send: 'S',
      risk: 'read-only',
      answer: { kind: 'bits' },
      takesMs: 500,
    }
    const more = {
      commands: { ...BASE.commands, status: { ...status, poll: { everyMs: 100, longestMs: 300, set: 1 } } },
      capabilities: { measure: ['status', 'read'] },
    }
    // Asked at 0, 100 ... ms; 800 ms are the last moment at which it is still waited for.
    const busy = (times: number) => Array.from({ length: times }, () => ['> S\r', '< 0\r']).flat()
    const ready = ['> S\r', '< 1\r', '> R\r', '< 100.25\r']
    expect(await measure(more, [...OPEN, ...busy(8), ...ready])).toMatchObject({ value: '100.25', marks: [] })
    const { meter, peer } = await open(more, [...OPEN, ...busy(10)])
    const fromUs = clock.now().monoUs
    expect(await meter.measure({})).toMatchObject({
      marks: ['silent'],
      note: expect.stringContaining('not ready within 300 ms'),
    })
    expect(clock.now().monoUs - fromUs).toBe(900_000)
    peer.finish('end')
    expect(peer.problems).toEqual([])
  })

  it('says of a reading what its register told afterwards, and nothing where all is well', async () => {
    const more = {
      commands: {
        ...BASE.commands,
        events: { doc: 'The events.', send: 'E', risk: 'read-only', answer: { kind: 'bits' } },
      },
      watch: { ask: 'events', powerUp: 128, after: ['read'] },
    }
    const { meter } = await open(more, [
      ...[...OPEN, '> E\r', '< 0\r', '> R\r', '< 100.25\r', '> E\r', '< 0\r'],
      ...['> R\r', '< 100.26\r', '> E\r', '< 100.27\r'],
    ])
    const well = await meter.measure({})
    expect(well).toMatchObject({ value: '100.25', marks: [] })
    expect(well).not.toHaveProperty('note')
    expect(await meter.measure({})).toMatchObject({
      value: '100.26',
      marks: ['doubtful-answer'],
      note: expect.stringMatching(/^afterwards: .*100\.27/),
    })
  })

  it('does not let a scanner that is gone be asked again at once', async () => {
    clock = new VirtualClock({ startUtcUs: 0 })
    const scanner = {
      ...{ role: 'scanner', unit: undefined, inputs: { count: 4 }, capabilities: { select: ['go'] } },
      commands: { ...BASE.commands, go: { doc: 'The input.', send: 'S{input}', risk: 'setting' } },
    }
    let wire: WireListener | undefined
    instrument = openInstrument({
      spec: { id: 'v', name: 'v', profile: 'variation', link: { kind: 'tcp', host: 'x', port: 1 } },
      clock,
      profiles: {
        profiles: new Map([['variation', defineDriver('test', { ...BASE, ...scanner } as ProfileText)]]),
        problems: [],
      },
      random: () => 0.5,
      connect: async (listener) => {
        if (wire !== undefined) throw new WireFault('lost', asTold('nobody is there.'))
        wire = listener
        return { write: () => queueMicrotask(() => listener.data(Buffer.from('ME\r'))), destroy: () => {} }
      },
    })
    await instrument.open()
    wire!.closed(new WireFault('lost', asTold('the cable was pulled.')))
    const fromUs = clock.now().monoUs
    for (let i = 1; i <= 3; i++) {
      await expect((instrument as Scanner).select(1)).rejects.toMatchObject({ code: 'lost' })
      // As long as its first byte may take.
      expect(clock.now().monoUs - fromUs).toBe(i * 500_000)
    }
    // What is refused was never sent, and is refused at once.
    await expect((instrument as Scanner).select(5)).rejects.toMatchObject({ code: 'refused' })
    expect(clock.now().monoUs - fromUs).toBe(1_500_000)
  })

  it('asks twice an instrument that answers the question before', async () => {
    const more = read({ answersPrevious: true })
    expect(await measure(more, [...OPEN, '> R\r', '< 99.00\r', '> R\r', '< 100.25\r'])).toMatchObject({
      value: '100.25',
    })
  })

  it('puts an address before what it sends and wants one before what it hears', async () => {
    const framing = { send: '\r', receive: '\r', sendPrefix: '01', receivePrefix: 'A1' }
    const lines = ['> 01I\r', '< A1ME\r', '> 01R\r', '< A1100.25\r']
    expect(await measure({ framing }, lines)).toMatchObject({ value: '100.25' })
    await instrument.close()
    const wrong = await measure({ framing }, [...lines.slice(0, 3), '< A2100.25\r'])
    expect(wrong).toMatchObject({ value: undefined, marks: ['garbled'] })
  })

  it('moves the exponent for a unit with a multiplier, digits untouched', async () => {
    const units = { OHM: { unit: 'ohm' }, KOHM: { unit: 'ohm', power: 3 } }
    const answer = { kind: 'value', unit: 'ohm', pattern: '^(?<value>\\S+) (?<unit>\\S+)$', units }
    expect(await measure(read({ answer }), [...OPEN, '> R\r', '< 1.00250 KOHM\r'])).toMatchObject({
      value: '1.00250E3',
      unit: 'ohm',
    })
  })

  it('turns status letters and words in place of numbers into marks', async () => {
    const answer = {
      kind: 'value',
      unit: 'ohm',
      pattern: '^(?<status>[NO]) (?<value>\\S+)$',
      status: { O: 'over-range' },
      specials: { '----': 'not-a-number' },
    }
    expect(await measure(read({ answer }), [...OPEN, '> R\r', '< N 100.25\r'])).toMatchObject({
      value: '100.25',
      marks: [],
    })
    await instrument.close()
    expect(await measure(read({ answer }), [...OPEN, '> R\r', '< O 400.00\r'])).toMatchObject({
      marks: ['over-range'],
    })
    await instrument.close()
    const none = await measure(read({ answer }), [...OPEN, '> R\r', '< N ----\r'])
    expect(none).toMatchObject({ value: undefined, marks: ['not-a-number'] })
  })

  it('believes no answer that names another input than the one that was asked for', async () => {
    const more = {
      inputs: { count: 8, first: 0, width: 2 },
      commands: {
        ...BASE.commands,
        read: {
          ...READ,
          doc: 'The resistance of an input.',
          send: 'R{input}',
          answer: { kind: 'value', unit: 'ohm', pattern: '^(?<input>\\d\\d)=(?<value>\\S+)$' },
        },
      },
    }
    const { meter, peer } = await open(more, [
      ...OPEN,
      '> R02\r',
      '< 02=100.25\r',
      '> R03\r',
      '< 02=100.26\r',
    ])
    expect(await meter.measure({ input: 3 })).toMatchObject({ value: '100.25', marks: [] })
    expect(await meter.measure({ input: 4 })).toMatchObject({
      marks: ['garbled'],
      note: expect.stringContaining('input 02'),
    })
    expect(peer.problems).toEqual([])
  })

  it('asks something when nothing was asked for long, and finds the dead connection', async () => {
    const { meter, peer } = await open({ link: { idleS: 60 } }, [...OPEN, '> I\r', '< ME\r'])
    await clock.sleep(61_000)
    expect(meter.status.state).toBe('ready')
    peer.finish('first minute')
    await clock.sleep(70_000)
    expect(meter.status.state).toBe('lost')
  })

  it('says that the baud rate looks wrong when what comes is not text', async () => {
    const noise = '< \xf8\x80\x1e\xfe\r'
    await expect(open({}, ['> I\r', noise, '> I\r', noise])).rejects.toThrow(/nobody answers|baud rate/)
  })

  it('names who answers when it is another instrument', async () => {
    await expect(open({}, ['> I\r', '< YOU\r', '> I\r', '< YOU\r'])).rejects.toMatchObject({
      code: 'wrong-instrument',
      message: expect.stringContaining('"YOU" answers here'),
    })
  })
})

describe('openInstrument', () => {
  const whyNot = (count: number, id = 'own') => {
    const problem = { file: 'own.json', line: 3, column: 5, sentence: 'not a word', id: 'own' }
    const problems = Array.from({ length: count }, (_, i) => ({ ...problem, line: 3 + i }))
    const profiles = {
      profiles: new Map([
        ['b', defineDriver('b', BASE)],
        ['a', defineDriver('a', BASE)],
      ]),
      problems,
    }
    const spec = { id: 'v', name: 'v', profile: id, link: { kind: 'tcp', host: 'x', port: 1 } } as const
    try {
      openInstrument({ spec, clock: new VirtualClock({ startUtcUs: 0 }), profiles })
    } catch (error) {
      return (error as Error).message
    }
    return ''
  }

  it('says what is wrong in the file of a profile, first of all, and how much more', () => {
    expect(whyNot(1)).toContain('cannot be used: own.json:3:5: not a word. Mend the file')
    expect(whyNot(2)).toContain('own.json:3:5: not a word (and 1 more). Mend the file')
    expect(whyNot(4)).toContain('own.json:3:5: not a word (and 3 more). Mend the file')
    expect(whyNot(2, 'other')).toContain('There is no profile "other"; there are: a, b.')
  })
})

describe('open', () => {
  it('asked for twice makes one connection', async () => {
    const { meter } = await open({}, OPEN)
    const again = await Promise.all([meter.open(), meter.open()])
    expect(again.map((each) => each.raw)).toEqual(['ME', 'ME'])
  })

  it('ends for its caller when the caller gives up, and goes on by itself', async () => {
    clock = new VirtualClock({ startUtcUs: 0 })
    const driver = defineDriver('test', BASE)
    instrument = openInstrument({
      spec: { id: 'v', name: 'v', profile: 'variation', link: { kind: 'tcp', host: 'x', port: 1 } },
      clock,
      profiles: { profiles: new Map([['variation', driver]]), problems: [] },
      connect: () => new Promise(() => {}),
    })
    const stop = new AbortController()
    const opening = instrument.open(stop.signal)
    stop.abort(new Error('enough'))
    await expect(opening).rejects.toThrow('enough')
    expect(instrument.status.state).toBe('connecting')
  })
})
