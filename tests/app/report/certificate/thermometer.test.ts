import { describe, expect, it } from 'vitest'
import { buildCertificate } from '../../../../app/report/certificate/build.ts'
import { analyse } from '../../../../app/results/analysis.ts'
import { simulate } from '../../../report/fixture.ts'

describe('the coefficients on a certificate', () => {
  it('come with the largest U of a temperature found with them, and the range in which that holds', () => {
    const { input } = simulate()
    const analysis = analyse({ ...input, options: { monteCarloTrials: 0 } })
    for (const result of analysis.thermometers) {
      const { certificate } = buildCertificate(analysis, result)
      const largest = Math.max(...result.band.map(({ budget }) => budget.expanded))
      const least = Math.min(...result.band.map(({ budget }) => budget.expanded))
      const told = /at most ([\d.]+) mK/.exec(JSON.stringify(certificate.blocks))
      expect(largest / least).toBeGreaterThan(1.2)
      expect(Number(told?.[1]) / largest, result.record.channel.id).toBeCloseTo(1, 1)
      expect(Number(certificate.numbers.largest!.value)).toBeGreaterThanOrEqual(0.99 * largest)
    }
  })
})
