import { join } from 'node:path'
import { afterEach, describe, expect, it, onTestFinished, vi } from 'vitest'
import { createSessionFile, type Outcome } from '../../main/store/session-file.ts'
import { verifySession } from '../../main/store/verify.ts'
import { exampleClock, exampleEvent, exampleInfo, exampleSetup, scan, temporaryFolder } from './example.ts'

/** Another script for the next threads; none: the program's own. */
const script = vi.hoisted(() => ({ url: undefined as URL | undefined }))

vi.mock(import('../../main/store/worker-pool.ts'), async (original) => {
  const real = await original()
  return { ...real, workerScript: (...of) => script.url ?? real.workerScript(...of) }
})

afterEach(() => {
  script.url = undefined
})

async function setUp(when: 'before' | 'after') {
  script.url = new URL('./write-worker-that-ends.ts', import.meta.url)
  process.env.STILLPOINT_THREAD_ENDS = when
  const path = join(temporaryFolder(), 'a.stillpoint')
  const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
  onTestFinished(() => file.close())
  await file.beginThread()
  const hand = (tick: number) =>
    new Promise<Outcome>((resolve) => file.hand({ readings: scan(tick, 3) }, resolve))
  expect(await hand(0)).toMatchObject({ committed: { firstSeq: 1, lastSeq: 3 } })
  const whole = () => {
    file.finish('complete', 'done')
    return verifySession(path)
  }
  return { file, hand, whole }
}

describe('a thread that ends with a batch on its way', () => {
  it('has stored it: the batch counts once, and the next is written without the thread', async () => {
    const { hand, whole } = await setUp('after')
    expect(await hand(1)).toMatchObject({ committed: { firstSeq: 4, lastSeq: 6 } })
    expect(await hand(2)).toMatchObject({ committed: { firstSeq: 7, lastSeq: 9 } })
    expect(whole()).toMatchObject({ whole: true, readings: 9 })
  })

  it('has not stored it: whoever handed it over is told, and gives it again', async () => {
    const { hand, whole } = await setUp('before')
    expect(await hand(1)).toMatchObject({ fault: { code: 'input-output' } })
    expect(await hand(1)).toMatchObject({ committed: { firstSeq: 4, lastSeq: 6 } })
    expect(whole()).toMatchObject({ whole: true, readings: 6 })
  })

  it.each(['before', 'after'] as const)('keeps nobody waiting who must know at once (%s)', async (when) => {
    const { file, whole } = await setUp(when)
    let told: Outcome | undefined
    file.hand({ readings: scan(1, 3) }, (outcome) => {
      told = outcome
    })
    const from = performance.now()
    const { firstSeq } = file.commit({ events: [exampleEvent('at once')], readings: scan(2, 3) })
    expect(performance.now() - from).toBeLessThan(20_000)
    expect(told).toMatchObject(when === 'after' ? { committed: { lastSeq: 6 } } : { fault: {} })
    expect(firstSeq).toBe(when === 'after' ? 7 : 4)
    expect(whole()).toMatchObject({ whole: true })
  })
})
