import { EventEmitter } from 'node:events'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import type { ElectronParts } from '../../main/desktop/parts.ts'
import { type CoreMessage, CoreSupervisor } from '../../main/desktop/supervisor.ts'

class Child extends EventEmitter {
  killed = false
  readonly sent: { kind: string }[] = []
  postMessage(message: { kind: string }) {
    this.sent.push(message)
  }
  kill() {
    this.killed = true
    this.emit('exit', 9)
  }
  say(message: CoreMessage) {
    this.emit('message', message)
  }
}

let children: Child[]
let crashes: string[]
let supervisor: CoreSupervisor
let idle: number
const last = () => children.at(-1)!

beforeEach(() => {
  vi.useFakeTimers()
  children = []
  crashes = []
  idle = 0.5
  const utilityProcess = {
    fork: () => {
      const child = new Child()
      children.push(child)
      return child
    },
  }
  supervisor = new CoreSupervisor({ utilityProcess } as unknown as ElectronParts, {
    script: 'core.mjs',
    args: () => [],
    log: () => undefined,
    onReady: () => undefined,
    onCrash: (words) => crashes.push(words),
    onMessage: () => undefined,
    idleShare: () => idle,
  })
  supervisor.start()
})
afterEach(() => vi.useRealTimers())

/** How long it takes until there is another core after the last one ended, ms. */
function waitAfterCrash(): number {
  const before = children.length
  last().emit('exit', 1)
  let waited = 0
  while (children.length === before && waited < 120_000) {
    vi.advanceTimersByTime(50)
    waited += 50
  }
  return waited
}

describe('CoreSupervisor', () => {
  it('waits longer before each new start of a core that keeps crashing, up to half a minute', () => {
    const waits = Array.from({ length: 10 }, () => {
      last().say({ kind: 'ready' })
      return waitAfterCrash()
    })
    expect(waits).toEqual([250, 500, 1000, 2000, 4000, 8000, 16_000, 30_000, 30_000, 30_000])
    expect(crashes).toHaveLength(10)
  })

  it('starts at once again after a core that has lived for more than a minute', () => {
    for (let i = 0; i < 5; i++) waitAfterCrash()
    last().say({ kind: 'ready' })
    for (let n = 0; n < 20; n++) {
      vi.advanceTimersByTime(5000)
      last().say({ kind: 'pong', n })
    }
    expect(waitAfterCrash()).toBe(250)
  })

  it('kills a core that has not answered for 20 s, and not one that has', () => {
    last().say({ kind: 'ready' })
    for (let n = 0; n < 12; n++) {
      vi.advanceTimersByTime(5000)
      last().say({ kind: 'pong', n })
    }
    expect(last().killed).toBe(false)
    const first = last()
    vi.advanceTimersByTime(26_000)
    expect(first.killed).toBe(true)
    expect(children).toHaveLength(2)
  })

  it('replaces a core that answers but stores none of the readings that are due', () => {
    last().say({ kind: 'ready' })
    const first = last()
    first.say({ kind: 'pong', n: 1, silentS: 119, allowedS: 120 })
    expect(first.killed).toBe(false)
    first.say({ kind: 'pong', n: 2, silentS: 124, allowedS: 120 })
    expect(first.killed).toBe(true)
  })

  it('waits four times as long for a core on a machine that has no processor idle, but not for ever', () => {
    last().say({ kind: 'ready' })
    const first = last()
    idle = 0.02
    vi.advanceTimersByTime(70_000)
    expect(first.killed).toBe(false)
    vi.advanceTimersByTime(20_000)
    expect(first.killed).toBe(true)
  })

  it('does not take the sleep of the computer for silence of the core', () => {
    last().say({ kind: 'ready' })
    const first = last()
    vi.advanceTimersByTime(5000)
    first.say({ kind: 'pong', n: 1 })
    vi.setSystemTime(Date.now() + 8 * 3_600_000)
    vi.advanceTimersByTime(5000)
    first.say({ kind: 'pong', n: 2 })
    vi.advanceTimersByTime(10_000)
    expect(first.killed).toBe(false)
  })

  it('starts no core again that has said why it cannot open, until told to', () => {
    last().say({ kind: 'refused', words: 'The folder is in use.' })
    last().emit('exit', 1)
    vi.advanceTimersByTime(120_000)
    expect(children).toHaveLength(1)
    expect(crashes).toEqual([])
    supervisor.start()
    waitAfterCrash()
    expect(children).toHaveLength(3)
  })

  it('kills a core that does not end within its patience, and starts none after that', async () => {
    const stopped = supervisor.stop(15_000)
    expect(last().sent).toEqual([{ kind: 'stop' }])
    vi.advanceTimersByTime(14_900)
    expect(last().killed).toBe(false)
    vi.advanceTimersByTime(200)
    await stopped
    expect(last().killed).toBe(true)
    vi.advanceTimersByTime(120_000)
    expect(children).toHaveLength(1)
  })
})
