import { beforeEach, describe, expect, it } from 'vitest'
import type { Said } from '../../app/messages/said.ts'
import { Gate } from '../../main/host/gate/gate.ts'
import { HeavyWork } from '../../main/host/gate/heavy-work.ts'
import { GATE_LIMITS, type Group, type GroupLimits } from '../../main/host/gate/limits.ts'
import { ServedWindow, type Wire } from '../../main/host/gate/served-window.ts'

const LIMITS: GroupLimits = {
  ...GATE_LIMITS.members,
  largest: 400,
  perSecond: 10,
  atOnce: 20,
  bytesPerSecond: 4000,
  bytesAtOnce: 8000,
  running: 3,
}

class TestWire implements Wire {
  ended: [number, string] | undefined
  paused = false
  readonly sent: (string | Uint8Array)[] = []
  readonly flow: Wire['flow']
  constructor(canWait: boolean) {
    this.flow = canWait
      ? {
          pause: () => {
            this.paused = true
          },
          resume: () => {
            this.paused = false
          },
        }
      : undefined
  }
  send(data: string | Uint8Array): Promise<void> {
    this.sent.push(data)
    return Promise.resolve()
  }
  end(code: number, words: string): void {
    this.ended = [code, words]
  }
}

let gate: Gate
let lines: string[]
let asked: string[]
let answers: (() => void)[]
let now: number
let n: number

const call = (path = '/station/state') => JSON.stringify({ i: String(++n), p: { u: path } })
const turn = () => new Promise((resolve) => setTimeout(resolve, 5))

function open(wire: TestWire, group: Group = 'members', limits = LIMITS): ServedWindow {
  gate ??= new Gate(
    { warn: (words: string) => void lines.push(words) } as never,
    { members: limits, onlookers: limits, programs: limits },
    () => now,
  )
  return new ServedWindow(gate, group, wire, (request) => {
    asked.push(request.url.pathname)
    return new Promise((resolve) =>
      answers.push(() => resolve({ status: 200, headers: {}, body: { json: 1 } })),
    )
  })
}
const answerAll = async () => {
  for (const answer of answers.splice(0)) answer()
  await turn()
}

beforeEach(() => {
  gate = undefined!
  lines = []
  asked = []
  answers = []
  now = 1000
  n = 0
})

describe('a window behind the gate', () => {
  it('asks, and is answered', async () => {
    const wire = new TestWire(true)
    const window = open(wire)
    window.hear(call())
    window.hear(new TextEncoder().encode(call('/points/list')))
    await turn()
    expect(asked).toEqual(['/station/state', '/points/list'])
    await answerAll()
    expect(wire.sent).toHaveLength(2)
    expect(wire.ended).toBeUndefined()
  })

  it.each<[string, unknown, number]>([
    ['text that is no call', '{', 1007],
    ['a number', '7', 1007],
    ['nothing', '', 1007],
    ['null', 'null', 1007],
    ['a call without an address', '{"i":"1","p":{}}', 1007],
    ['a call with a number of another kind', '{"i":{"a":1},"p":{"u":"/station/state"}}', 1007],
    ['a call with an endless number', JSON.stringify({ i: 'x'.repeat(80), p: { u: '/a' } }), 1007],
    ['bytes that are no text', new Uint8Array([255, 254, 0]), 1007],
    ['a stream nobody asked for', '{"i":"1","t":3,"p":{"e":"message","d":1}}', 1008],
    ['more than is allowed', 'x'.repeat(201), 1009],
    ['an object', { made: 'up' }, 1003],
  ])('ends at %s, with its code and one line in the log, and hands nothing on', async (_what, data, code) => {
    const wire = new TestWire(true)
    const window = open(wire)
    window.hear(data)
    await turn()
    window.hear(call())
    await turn()
    expect(wire.ended?.[0]).toBe(code)
    expect(asked).toEqual([])
    expect(lines).toHaveLength(1)
    expect(lines[0]).toMatch(/^The link to a window was ended: it sent /)
    expect(gate.hasRoom('members')).toBe(true)
  })

  it('is left unread while it asks too fast, and goes on later', async () => {
    const wire = new TestWire(true)
    const window = open(wire, 'members', { ...LIMITS, running: 100, perSecond: 1000 })
    for (let i = 0; i < 30; i++) window.hear(call())
    expect(wire.paused).toBe(true)
    expect(wire.ended).toBeUndefined()
    now += 1000
    await new Promise((resolve) => setTimeout(resolve, 40))
    expect(asked).toHaveLength(30)
    await answerAll()
    expect(wire.paused).toBe(false)
  })

  it('has only so many calls answered at a time; the others wait and it is left unread', async () => {
    const wire = new TestWire(true)
    const window = open(wire)
    for (let i = 0; i < 8; i++) window.hear(call())
    await turn()
    expect(asked).toHaveLength(3)
    expect(wire.paused).toBe(true)
    for (let i = 0; i < 4; i++) await answerAll()
    expect(asked).toHaveLength(8)
    expect(wire.paused).toBe(false)
  })

  it('is ended at once where its carrier cannot wait', () => {
    const wire = new TestWire(false)
    const window = open(wire)
    for (let i = 0; i < 30; i++) window.hear(call())
    expect(wire.ended?.[0]).toBe(1008)
    expect(lines[0]).toContain('messages')
  })

  it('shares its rate with all of its group, and never with the other', () => {
    const limits = { ...LIMITS, running: 100 }
    const wires = Array.from({ length: 4 }, () => new TestWire(true))
    const windows = wires.map((wire) => open(wire, 'onlookers', limits))
    const own = new TestWire(true)
    const member = open(own, 'members', limits)
    for (let i = 0; i < 10; i++) for (const window of windows) window.hear(call())
    expect(wires.every(({ paused }) => paused)).toBe(true)
    member.hear(call())
    expect(own.paused).toBe(false)
  })

  it('lets go of what its calls hold when they are over, and when it is gone', async () => {
    const released: string[] = []
    gate = new Gate({ warn: () => undefined } as never)
    const wire = new TestWire(true)
    const window = new ServedWindow(gate, 'members', wire, (request, { hold }) => {
      hold(() => released.push(request.url.pathname))
      return new Promise((resolve) =>
        answers.push(() => resolve({ status: 200, headers: {}, body: { json: 1 } })),
      )
    })
    window.hear(call('/one'))
    window.hear(call('/two'))
    await turn()
    expect(released).toEqual([])
    answers.shift()!()
    await turn()
    expect(released).toEqual(['/one'])
    window.closed()
    await answerAll()
    expect(released).toEqual(['/one', '/two'])
    expect(wire.sent).toHaveLength(1)
  })
})

describe('the gate', () => {
  it('writes twenty lines a minute for whatever strangers do, and then how many there were', () => {
    gate = new Gate({ warn: (words: string) => void lines.push(words) } as never, GATE_LIMITS, () => now)
    for (let i = 0; i < 5000; i++) gate.refusals.warn(`line ${i}`)
    expect(lines).toHaveLength(20)
    now += 61_000
    gate.refusals.warn('later')
    expect(lines.slice(20)).toEqual(['4980 more refusals in the minute before', 'later'])
  })

  it('has room for so many windows of a group', () => {
    gate = new Gate({ warn: () => undefined } as never)
    const windows = Array.from({ length: GATE_LIMITS.onlookers.windows }, () =>
      open(new TestWire(true), 'onlookers'),
    )
    expect(gate.hasRoom('onlookers')).toBe(false)
    expect(gate.hasRoom('members')).toBe(true)
    windows[0]!.closed()
    windows[0]!.closed()
    expect(gate.hasRoom('onlookers')).toBe(true)
    open(new TestWire(true), 'onlookers')
    expect(gate.hasRoom('onlookers')).toBe(false)
  })

  it('leaves room for what a window does at most: 96 channels asked for at once, 30 questions a second', () => {
    const { atOnce, perSecond, running } = GATE_LIMITS.members
    expect(atOnce).toBeGreaterThan(96 * 4)
    expect(perSecond).toBeGreaterThan(30 * 4)
    expect(running).toBeGreaterThan(96 * 2)
  })
})

describe('heavy work', () => {
  const refuse = ({ words }: Said): never => {
    throw new Error(words)
  }

  it('is done two at a time, in the order it came, and the rest of what one window wants is refused in words', async () => {
    const work = new HeavyWork()
    const order: number[] = []
    const ends: (() => void)[] = []
    const window = {}
    const tries = Array.from({ length: 8 }, (_, i) =>
      work.enter(window, 'onlookers', undefined, refuse).then(
        (end) => {
          order.push(i)
          ends.push(end)
        },
        (fault: Error) => fault.message,
      ),
    )
    await turn()
    expect(order).toEqual([0, 1])
    for (let i = 0; i < 5; i++) {
      ends[i]!()
      ends[i]!()
      await turn()
    }
    expect(order).toEqual([0, 1, 2, 3, 4])
    expect((await Promise.all(tries)).slice(5)).toEqual(
      Array(3).fill(
        'This window already waits for 3 reports or comparisons. Ask again when one of them has come.',
      ),
    )
  })

  it('keeps places for those who work while onlookers fill theirs', async () => {
    const work = new HeavyWork()
    const tries = Array.from({ length: 30 }, () => work.enter({}, 'onlookers', undefined, refuse))
    const settled = Promise.allSettled(tries.slice(10))
    expect((await settled).every(({ status }) => status === 'rejected')).toBe(true)
    let mine = false
    void work.enter({}, 'members', undefined, refuse).then(() => {
      mine = true
    })
    for (const one of tries.slice(0, 10)) {
      ;(await one)()
      await turn()
    }
    expect(mine).toBe(true)
  })

  it('gives up its place where nobody wants it any more', async () => {
    const work = new HeavyWork()
    const ends = [
      await work.enter({}, 'members', undefined, refuse),
      await work.enter({}, 'members', undefined, refuse),
    ]
    const stop = new AbortController()
    const dropped = work.enter({}, 'members', stop.signal, refuse)
    const next = work.enter({}, 'members', undefined, refuse)
    stop.abort(new Error('gone'))
    await expect(dropped).rejects.toThrow('gone')
    ends[0]!()
    expect(await next).toBeTypeOf('function')
  })
})
