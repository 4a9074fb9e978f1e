import { describe, expect, it } from 'vitest'
import { planOf } from './box.ts'
import { type Night, night } from './plan-night.ts'

const ofRunner = (n: Night) => n.events.filter((e) => e.kind === 'plan-step').map((e) => e.words)

describe('a plan that cannot settle', () => {
  const never = { maxWaitS: 1500, settling: { ...planOf([25]).settling, spreadMk: 0.0001 } }

  it('takes the point marked when told so', async () => {
    const { finished, points } = await night(planOf([30], { ...never, onTimeout: 'take-marked' }))
    expect(finished.ending).toBe('complete-with-marks')
    expect(finished.reason).toMatch(
      /30 °C did not settle within 25 min \(.*Standard deviation .* mK, limit 0\.0001.*taken and marked/,
    )
    expect(points[0]).toMatchObject({ settled: false, marks: expect.arrayContaining(['not settled']) })
  })

  it('skips it when told so', async () => {
    const { finished, points } = await night(planOf([30], { ...never, onTimeout: 'skip' }))
    expect(finished).toMatchObject({
      ending: 'complete-with-marks',
      reason: expect.stringContaining('skipped'),
    })
    expect(points).toEqual([])
  })

  it('stops safely when told so', async () => {
    const { finished } = await night(planOf([30], { ...never, onTimeout: 'stop' }))
    expect(finished).toMatchObject({
      ending: 'stopped-safely',
      reason: expect.stringContaining('the plan says to stop'),
    })
  })

  it('extends the wait when told so, but not for ever', async () => {
    const n = await night(planOf([30], { ...never, onTimeout: 'extend' }))
    expect(ofRunner(n).filter((w) => w.includes('the wait is extended'))).toHaveLength(3)
    expect(n.finished.ending).toBe('complete-with-marks')
  })
})
