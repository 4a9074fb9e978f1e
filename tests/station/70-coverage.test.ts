import { describe, expect, it } from 'vitest'
import { type Checked, checkNight, coverageBy } from './coverage.ts'

const SEEDS = Array.from({ length: 20 }, (_, i) => 101 + i)

describe('the stated uncertainty, over nights of the lab in a box', () => {
  it('covers the hidden true thermometers about 95 times in 100, neither 70 nor 100', async () => {
    const checks: Checked[] = []
    for (const seed of SEEDS) checks.push(...(await checkNight(seed)))
    const within = checks.filter(({ errorOverU }) => Math.abs(errorOverU) <= 1).length / checks.length
    const rms = Math.sqrt(checks.reduce((sum, { errorOverU }) => sum + errorOverU ** 2, 0) / checks.length)
    console.log(
      `covered ${(100 * within).toFixed(1)} % of ${checks.length}, rms of error/U ${rms.toFixed(2)}`,
      coverageBy(checks),
    )
    // 20 nights of 4 thermometers are about 120 independent errors: the standard deviation of the part covered is 2 %.
    expect(within).toBeGreaterThan(0.88)
    expect(within).toBeLessThan(1)
    // A normal error with k = 1.96 has 0.51; errors far smaller than stated would show here first.
    expect(rms).toBeGreaterThan(0.36)
    expect(rms).toBeLessThan(0.66)
    for (const [thermometer, part] of coverageBy(checks)) expect(part, thermometer).toBeGreaterThan(0.75)
  }, 300_000)
})
