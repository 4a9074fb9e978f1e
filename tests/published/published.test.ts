/** Every figure that the program is held against, each with its source: the same checks that `stillpoint validate` runs. */
import { describe, expect, it } from 'vitest'
import { runCheck } from '../../app/validation/publication.ts'
import { PUBLISHED } from '../../app/validation/published.ts'

describe.each(PUBLISHED.map((publication) => [publication.id, publication] as const))(
  '%s',
  (_, publication) => {
    it.each(publication.checks.map((check) => [check.title, check] as const))('%s', (__, check) => {
      const { figures, fault } = runCheck(publication, check)
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
  },
)

describe('PUBLISHED', () => {
  it('holds twelve publications and more than four thousand figures', () => {
    expect(PUBLISHED).toHaveLength(12)
    const cheap = PUBLISHED.filter(({ id }) => id !== 'jcgm101')
    const figures = cheap.flatMap((p) => p.checks.flatMap((check) => runCheck(p, check).figures))
    expect(figures.length).toBeGreaterThan(4000)
  })
})
