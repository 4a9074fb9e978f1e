import { describe, expect, it, onTestFinished } from 'vitest'
import { WorkerPool, workerScript } from '../../main/store/worker-pool.ts'
import type { poolTasks } from './pool-worker.ts'

function open(options: { most?: number; heldBytes?: number; idleMs?: number } = {}) {
  const pool = new WorkerPool<typeof poolTasks>({
    script: workerScript('pool-worker', import.meta.url),
    priorities: { long: 'long', stubborn: 'long', idle: 'idle' },
    graceMs: 100,
    ...options,
  })
  onTestFinished(() => pool.close())
  return pool
}

const elapsed = async (work: Promise<unknown>) => {
  const from = performance.now()
  await work.catch(() => undefined)
  return performance.now() - from
}

describe('WorkerPool', () => {
  it('answers what is asked soon while long tasks run, and idle ones last of all', async () => {
    const pool = open({ most: 2 })
    await Promise.all([pool.ask().echo('a'), pool.ask().long(1)])
    const order: string[] = []
    const note = (name: string, work: Promise<unknown>) => work.then(() => order.push(name))
    await Promise.all([
      note('idle', pool.ask().idle(1)),
      note('first long', pool.ask().long(1500)),
      note('second long', pool.ask().long(10)),
      note('soon', pool.ask().echo('b')),
    ])
    expect(order.indexOf('soon')).toBeLessThan(order.indexOf('first long'))
    expect(pool.threads).toBe(2)
  })

  it('takes what waits in the order of its urgency where there is one thread', async () => {
    const pool = open()
    const order: string[] = []
    const note = (name: string, work: Promise<unknown>) => work.then(() => order.push(name))
    const first = note('first', pool.ask().long(200))
    await Promise.all([
      first,
      note('idle', pool.ask().idle(1)),
      note('long', pool.ask().long(1)),
      note('soon', pool.ask().echo('x')),
    ])
    expect(order).toEqual(['first', 'soon', 'long', 'idle'])
  })

  it('ends a task that does not look whether it is wanted, and answers what comes after', async () => {
    const pool = open()
    const stop = new AbortController()
    const given = pool.ask(stop.signal).stubborn(60_000)
    const after = pool.ask().echo('after')
    setTimeout(() => stop.abort(new Error('window closed')), 300)
    await expect(given).rejects.toThrow('window closed')
    expect(await after).toBe('after')
  })

  it('closes within two seconds, whatever its threads do and whatever waits', async () => {
    const pool = open({ most: 2 })
    await Promise.all([pool.ask().echo('a'), pool.ask().long(1)])
    const left = [pool.ask().stubborn(60_000), pool.ask().idle(60_000), pool.ask().long(60_000)]
    await new Promise((resolve) => setTimeout(resolve, 100))
    const closing = pool.close()
    for (const one of left) await expect(one).rejects.toThrow('The station is closing')
    expect(await elapsed(closing)).toBeLessThan(2000)
    expect(pool.threads).toBe(0)
    await expect(pool.ask().echo('late')).rejects.toThrow('The station is closing')
  })

  it('gives the memory of a thread that grew back, and goes on with another', async () => {
    const pool = open({ heldBytes: 64e6 })
    expect(await pool.ask().hold(1e6)).toBe(1)
    expect(await pool.ask().hold(1e6)).toBe(2)
    expect(await pool.ask().hold(80e6)).toBe(3)
    expect(pool.threads).toBe(0)
    expect(await pool.ask().hold(1e6), 'begun anew').toBe(1)
  })

  it('ends a thread that nobody asks any more', async () => {
    const pool = open({ idleMs: 50 })
    expect(await pool.ask().echo('a')).toBe('a')
    expect(pool.threads).toBe(1)
    await new Promise((resolve) => setTimeout(resolve, 500))
    expect(pool.threads).toBe(0)
    expect(await pool.ask().echo('b')).toBe('b')
  })
})
