import { describe, expect, it } from 'vitest'
import { newSurvey, readSurvey, surveySeries } from '../../../renderer/desk/survey.model.ts'

const typed = {
  ...newSurvey('2026-02-01', 'B. Wend'),
  positions: 'rim 200\nmiddle 200 mm',
  points: '0 1 6\n100 3,2 4',
}

describe('readSurvey', () => {
  it('reads places with their depths, and temperatures with u and degrees of freedom', () => {
    const { survey, problems } = readSurvey(typed, 's1')
    expect(problems).toEqual({})
    expect(survey).toEqual({
      id: 's1',
      date: '2026-02-01',
      who: 'B. Wend',
      positions: [
        { name: 'rim', depthMm: 200 },
        { name: 'middle', depthMm: 200 },
      ],
      points: [
        { celsius: 0, uMk: 1, degreesOfFreedom: 6 },
        { celsius: 100, uMk: 3.2, degreesOfFreedom: 4 },
      ],
    })
  })

  it('refuses in words: one place, a negative uncertainty, no temperature, nobody, no day, a line that says nothing', () => {
    const wrong = (part: Partial<typeof typed>) => readSurvey({ ...typed, ...part }, 's1').problems
    expect(wrong({ positions: 'rim 200' }).positions).toMatch(/at least two positions: name another one/)
    expect(wrong({ points: '0 -1 6' }).points).toMatch(/not negative: give its size/)
    expect(wrong({ points: '' }).points).toMatch(/at least one temperature/)
    expect(wrong({ who: ' ' }).who).toBe('Who made the survey')
    expect(wrong({ date: 'yesterday' }).date).toMatch(/2026-02-10/)
    expect(wrong({ positions: 'rim\nmiddle 200' }).positions).toMatch(/^“rim”: a place and its depth/)
    expect(wrong({ points: '50 1.8' }).points).toMatch(/^“50 1.8”: three numbers/)
  })
})

describe('surveySeries', () => {
  it('is one line for each temperature, in the order of the days', () => {
    const of = (id: string, date: string, uMk: number) => ({
      ...readSurvey(typed, id).survey!,
      ...{ id, date, points: [{ celsius: 50, uMk, degreesOfFreedom: 5 }] },
    })
    const [series, ...more] = surveySeries([of('b', '2026-02-01', 2), of('a', '2025-02-01', 1)])
    expect(more).toEqual([])
    expect(series!.name).toBe('50 °C')
    expect(series!.dots.map((d) => d.y)).toEqual([1, 2])
  })
})
