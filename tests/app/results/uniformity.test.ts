import { describe, expect, it } from 'vitest'
import { surveyOf, surveysOf, uniformityOf } from '../../../app/results/uniformity.ts'

type Use = Parameters<typeof uniformityOf>[0]

const survey = (date: string, mk: number) => ({
  date,
  who: 'M. Rook',
  positions: [
    { name: 'left', depthMm: 200 },
    { name: 'right', depthMm: 200 },
  ],
  points: [
    { celsius: 0, uMk: mk, degreesOfFreedom: 9 },
    { celsius: 100, uMk: 3 * mk, degreesOfFreedom: 4 },
  ],
})
const use = (bath: object, baths: object[] = []): Use =>
  ({ bench: { bath }, register: { baths } }) as unknown as Use

describe('uniformityOf', () => {
  it('is that of the newest survey not after the day, linear between its temperatures', () => {
    const bath = { uniformityMk: 7, surveys: [survey('2026-02-01', 2), survey('2025-02-01', 1)] }
    const found = uniformityOf(use(bath), '2026-01-15')
    expect(found.uMk(0)).toBe(1)
    expect(found.uMk(50)).toBe(2)
    expect(found.uMk(150)).toBe(3)
    expect(found.degreesOfFreedom).toBe(4)
    expect(found.source).toBe('survey of 2025-02-01 by M. Rook: 2 positions, 2 temperatures')
    expect(uniformityOf(use(bath), '2026-02-01').uMk(0)).toBe(2)
    expect(surveyOf(use(bath), '2025-01-31')).toBeUndefined()
  })

  it('is the figure typed on the bench where no survey holds, known exactly, and nothing where there is none', () => {
    const typed = uniformityOf(use({ uniformityMk: 7, surveys: [survey('2026-02-01', 2)] }), '2026-01-31')
    expect([typed.uMk(0), typed.uMk(90)]).toEqual([7, 7])
    expect(typed.degreesOfFreedom).toBe(Number.POSITIVE_INFINITY)
    expect(typed.source).toMatch(/typed on the bench/)
    expect(uniformityOf({ bench: {}, register: {} } as unknown as Use, '2026-01-31').uMk(20)).toBe(0)
  })

  it('rests on the entry of the bath in the register, not on that of another, and on the bench where there is none', () => {
    const own = { id: 'oil', surveys: [survey('2025-03-01', 5)] }
    const other = { id: 'water', surveys: [survey('2025-04-01', 6)] }
    const bench = { register: 'oil', surveys: [survey('2025-05-01', 9)] }
    expect(surveysOf(use(bench, [other, own]))).toBe(own.surveys)
    expect(surveysOf(use(bench, [other]))).toBe(bench.surveys)
    expect(surveysOf(use({}, [other]))).toEqual([])
  })
})
