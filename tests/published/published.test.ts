/** Every figure that the program is held against, each with its source: the same checks that `stillpoint validate` runs. */
import { describe, expect, it } from 'vitest'
import { type Check, type CheckResult, type Publication, runCheck } from '../../app/validation/publication.ts'
import { PUBLISHED } from '../../app/validation/published.ts'
import { STRICTNESS } from './strictness.ts'

const results = new Map<Check, CheckResult>()
/** What a check found; each runs once. */
function resultOf(publication: Publication, check: Check): CheckResult {
  const result = results.get(check) ?? runCheck(publication, check)
  results.set(check, result)
  return result
}

describe.each(PUBLISHED.map((publication) => [publication.id, publication] as const))(
  '%s',
  (_, publication) => {
    it.each(publication.checks.map((check) => [check.title, check] as const))('%s', (__, check) => {
      const { figures, fault } = resultOf(publication, check)
      expect(fault).toBeNull()
      expect(figures.filter(({ within }) => !within)).toEqual([])
      expect(figures.length).toBeGreaterThan(0)
    })

    it('says its source, the standing of its figures, and which check is which', () => {
      expect(publication.source.length).toBeGreaterThan(20)
      expect(publication.standing).toBeTruthy()
      const titles = publication.checks.map(({ title }) => title)
      expect(new Set(titles).size).toBe(titles.length)
    })

    it('holds as many figures as it prints, each within the limit that its digits allow', () => {
      const figures: Record<string, number> = {}
      for (const check of publication.checks)
        for (const { limit } of resultOf(publication, check).figures)
          figures[limit] = (figures[limit] ?? 0) + 1
      expect({ checks: publication.checks.length, figures }).toEqual(STRICTNESS[publication.id])
    })
  },
)

describe('PUBLISHED', () => {
  it('has every publication whose figures are counted', () => {
    expect(PUBLISHED.map(({ id }) => id).sort()).toEqual(Object.keys(STRICTNESS).sort())
  })
})
