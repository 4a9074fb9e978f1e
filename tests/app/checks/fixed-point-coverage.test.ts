import { describe, expect, it } from 'vitest'
import { jobsOf, SEQUENCES, type Sequence } from '../../soak/cells.ts'

describe('calibrateByFixedPoints', () => {
  // The long form, 300 jobs of each sequence, is `npm run soak -- --cells 300`; its table is docs/cell-coverage.md.
  it.each(Object.keys(SEQUENCES) as Sequence[])(
    'holds the truth of simulated jobs within U as often as it says: %s',
    (sequence) => {
      const { rWtp, coefficients, temperatures } = jobsOf(sequence, 40, 1)
      for (const share of [rWtp, coefficients, temperatures]) expect(share).toBeGreaterThan(85)
      expect((rWtp + coefficients + temperatures) / 3).toBeLessThan(99.5)
    },
  )
})
