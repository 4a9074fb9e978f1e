import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { ASK_AGAIN_MS, keepPort } from '../../../renderer/client/keep-port.ts'

type Listener = (event: MessageEvent) => void

/** A window that counts the questions and gives a port when told to. */
function page() {
  let listener: Listener | undefined
  const self: { asked: number; give(port: FakePort, source?: unknown): void } & Record<string, unknown> = {
    asked: 0,
    addEventListener: (_kind: string, added: unknown) => {
      listener = added as Listener
    },
    removeEventListener: () => {
      listener = undefined
    },
    postMessage: () => {
      self.asked += 1
    },
    give: (port, source = self) =>
      listener?.({ source, data: 'stillpoint-port', ports: [port] } as unknown as MessageEvent),
  }
  return self
}

class FakePort extends EventTarget {
  started = false
  closed = false
  start(): void {
    this.started = true
  }
  close(): void {
    this.closed = true
  }
}

let heard: string[]
let window: ReturnType<typeof page>
let kept: ReturnType<typeof keepPort>

beforeEach(() => {
  vi.useFakeTimers()
  heard = []
  window = page()
  kept = keepPort(window as never, 'stillpoint://window', {
    onPort: () => heard.push('port'),
    onEnd: () => heard.push('end'),
  })
})
afterEach(() => {
  kept.dispose()
  vi.useRealTimers()
})

describe('keepPort', () => {
  it('asks again every few seconds until a port comes, and then no more', () => {
    expect(window.asked).toBe(1)
    vi.advanceTimersByTime(3 * ASK_AGAIN_MS)
    expect(window.asked).toBe(4)
    const port = new FakePort()
    window.give(port)
    expect(heard).toEqual(['port'])
    expect(port.started).toBe(true)
    vi.advanceTimersByTime(10 * ASK_AGAIN_MS)
    expect(window.asked).toBe(4)
  })

  it('says when the port has ended, and asks at once and again', () => {
    const port = new FakePort()
    window.give(port)
    port.dispatchEvent(new Event('close'))
    expect(heard).toEqual(['port', 'end'])
    expect(window.asked).toBe(2)
    vi.advanceTimersByTime(ASK_AGAIN_MS)
    expect(window.asked).toBe(3)
  })

  it('closes the port before when another comes, and tells whoever waits on it, without calling the station lost', () => {
    const before = new FakePort()
    window.give(before)
    let told = false
    before.addEventListener('close', () => {
      told = true
    })
    window.give(new FakePort())
    expect([before.closed, told]).toEqual([true, true])
    expect(heard).toEqual(['port', 'port'])
  })

  it('takes no port from another window', () => {
    window.give(new FakePort(), {})
    expect(heard).toEqual([])
  })
})
