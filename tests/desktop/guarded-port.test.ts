import { EventEmitter } from 'node:events'
import { beforeEach, describe, expect, it } from 'vitest'
import { PORT_LIMITS, PortGate, type ServedPort } from '../../main/desktop/guarded-port.ts'

class Port extends EventEmitter {
  closed = false
  readonly sent: unknown[] = []
  postMessage(data: unknown): void {
    this.sent.push(data)
  }
  close(): void {
    this.closed = true
  }
}

let port: Port
let gate: PortGate
let served: ServedPort
let heard: unknown[]
let refusals: string[]
let ended: number
let now: number

beforeEach(() => {
  port = new Port()
  heard = []
  refusals = []
  ended = 0
  now = 1000
  const limits = { largest: 100, perSecond: 10, atOnce: 20, bytesPerSecond: 200, bytesAtOnce: 400 }
  gate = new PortGate(
    (words) => refusals.push(words),
    limits,
    () => now,
  )
  served = gate.admit(port as never)
  served.on('message', (event) => heard.push(event?.data))
  served.on('close', () => {
    ended += 1
  })
})
const send = (data: unknown) => port.emit('message', { data })

describe('PortGate', () => {
  it('passes text and bytes on, and answers', () => {
    send('question')
    send(new Uint8Array([1, 2]))
    served.postMessage('answer')
    expect(heard).toEqual(['question', new Uint8Array([1, 2])])
    expect(port.sent).toEqual(['answer'])
    expect(port.closed).toBe(false)
  })

  it('ends the port at a message that is too large, hands nothing of it on, and says why', () => {
    send('x'.repeat(51))
    send('after')
    served.postMessage('late answer')
    expect(heard).toEqual([])
    expect([port.closed, ended]).toEqual([true, 1])
    expect(port.sent).toEqual([])
    expect(refusals).toEqual([
      'The link to a window was ended: it sent 102 bytes in one message; 100 are allowed.',
    ])
  })

  it('ends the port of a page that floods it with messages, after those allowed at once', () => {
    for (let i = 0; i < 30; i++) send('a')
    expect(heard).toHaveLength(20)
    expect(port.closed).toBe(true)
    expect(refusals).toHaveLength(1)
  })

  it('lets a page ask at the steady rate for ever', () => {
    for (let i = 0; i < 1000; i++) {
      send('a')
      now += 100
    }
    expect(heard).toHaveLength(1000)
    expect(port.closed).toBe(false)
  })

  it('counts bytes as well as messages', () => {
    for (let i = 0; i < 6; i++) send(new Uint8Array(90))
    expect(heard).toHaveLength(4)
    expect(refusals[0]).toContain('bytes a second')
  })

  it('shares its limits among all ports, so that asking for more ports gains a page nothing', () => {
    const others = Array.from({ length: 4 }, () => new Port())
    for (const other of others) gate.admit(other as never).on('message', (event) => heard.push(event?.data))
    for (let i = 0; i < 10; i++) for (const other of others) other.emit('message', { data: 'a' })
    expect(heard).toHaveLength(20)
    expect(others.every(({ closed }) => closed)).toBe(true)
  })

  it('keeps a few ports open and ends the oldest beyond', () => {
    const others = Array.from({ length: 16 }, () => new Port())
    for (const other of others) gate.admit(other as never)
    expect(port.closed).toBe(true)
    expect(others.some(({ closed }) => closed)).toBe(false)
    others[0]!.emit('close')
    gate.admit(new Port() as never)
    expect(others.slice(1).some(({ closed }) => closed)).toBe(false)
  })

  it('takes nothing but text and bytes', () => {
    send({ made: 'up' })
    expect(heard).toEqual([])
    expect(port.closed).toBe(true)
  })

  it('passes the end of the port on', () => {
    port.emit('close')
    expect(ended).toBe(1)
  })

  it('leaves room for what a window does at most: 96 channels asked for at once, 30 questions a second', () => {
    expect(PORT_LIMITS.atOnce).toBeGreaterThan(96 * 4)
    expect(PORT_LIMITS.perSecond).toBeGreaterThan(30 * 4)
  })
})
