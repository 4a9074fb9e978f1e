import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { checkProfile, tellProblem } from '../../../drivers/profile/check.ts'
import { JsonLines } from '../../../drivers/profile/json-lines.ts'

const text = readFileSync(new URL('../../../drivers/profiles/lab-tb-1.json', import.meta.url), 'utf8')

/** The problems of the profile after one change, with the line that was changed. */
function changed(from: string, to: string): { problems: string[]; line: number } {
  expect(text).toContain(from)
  const line = text.slice(0, text.indexOf(from)).split('\n').length
  const result = checkProfile(text.replace(from, to), 'x.json')
  return { problems: result.ok ? [] : result.problems.map(tellProblem), line }
}

describe('checkProfile', () => {
  it('takes a profile that ships', () => expect(checkProfile(text, 'x.json').ok).toBe(true))

  it.each([
    ['a word that does not exist', '"title":', '"titel":'],
    ['a value outside the list', '"risk": "hazardous"', '"risk": "hot"'],
    ['a wrong type', '"gapMs": 50', '"gapMs": "50"'],
    ['a regular expression that is none', '"^OK$"', '"^OK($"'],
    ['a doc that says nothing', '"doc": "The temperature of the bath, by its control sensor."', '"doc": ""'],
    ['a capability the role does not have', '"output": [', '"measure": ['],
    [
      'a name that leads nowhere',
      '"read-temperature": ["temperature"]',
      '"read-temperature": ["thermometer"]',
    ],
    ['a hazardous number without limits', '"low": -20,', ''],
    ['an unknown mark', '"mark": "instrument-error"', '"mark": "broken"'],
  ])('points at the line of %s', (_what, from, to) => {
    const { problems, line } = changed(from, to)
    expect(problems.length).toBeGreaterThan(0)
    const lines = problems.map((each) => Number(/^x\.json:(\d+): /.exec(each)?.[1]))
    expect(lines.some((each) => Math.abs(each - line) <= 3)).toBe(true)
  })

  it('points at the line where the text stops being JSON', () => {
    const cut = text.split('\n').slice(0, 40).join('\n')
    const result = checkProfile(`${cut}\n  oops`, 'x.json')
    expect(result.ok ? '' : tellProblem(result.problems[0]!)).toMatch(
      /^x\.json:4[01]: not JSON at column \d+/,
    )
  })

  it('never throws, whatever the file holds', () => {
    fc.assert(
      fc.property(fc.oneof(fc.string(), fc.json()), (anything) => {
        const result = checkProfile(anything, 'x.json')
        expect(result.ok).toBe(false)
      }),
      { numRuns: 2000 },
    )
    fc.assert(
      fc.property(
        fc.nat({ max: text.length - 1 }),
        fc.constantFrom('', '0', '"', ',', '}', 'x'),
        (at, put) => {
          const result = checkProfile(text.slice(0, at) + put + text.slice(at + 1), 'x.json')
          if (!result.ok) for (const each of result.problems) expect(each.line).toBeGreaterThan(0)
        },
      ),
      { numRuns: 1000 },
    )
  })
})

describe('JsonLines', () => {
  it('knows the line of every value', () => {
    const lines = new JsonLines('{\n "a": [1,\n  {"b\\"c": 2}\n ],\n "d": "x"\n}')
    expect(lines.lineOf(['a'])).toBe(2)
    expect(lines.lineOf(['a', 1])).toBe(3)
    expect(lines.lineOf(['a', 1, 'b"c'])).toBe(3)
    expect(lines.lineOf(['d'])).toBe(5)
    expect(lines.lineOf(['d', 'nowhere'])).toBe(5)
    expect(lines.lineOf(['missing'])).toBe(1)
  })
})
