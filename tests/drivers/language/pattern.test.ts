import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { compilePattern } from '../../../drivers/language/pattern.ts'

/** Patterns of the kind that profiles have. */
const PATTERNS = [
  '^\\s*(?<value>\\S+)\\s*$',
  '^(?<maker>[^,]*),(?<model>[^,]*),(?<serial>[^,]*),(?<firmware>.*)$',
  '^(?<value>[+-]\\d\\.\\d{9}E[+-]\\d\\d|[+-]9\\.91?E\\+37)$',
  '^E(?<code>\\d\\d)$',
  '^(?<value>[+-]?\\d+(?:\\.\\d+)?)(?<unit>C|F)?$',
  '^T(?<count>\\d+);(?<t>[-+.\\d]+);(?<h>[.\\d]+)$',
]

/** Texts near what instruments say: the letters of numbers, commas, and a few others. */
const texts = fc.string({ unit: fc.constantFrom(...'+-.,;:E0123456789 ABCFOHMT\t'), maxLength: 200 })

describe('compilePattern', () => {
  it('finds the same as the runtime does, in short texts and in long ones', () => {
    fc.assert(
      fc.property(fc.constantFrom(...PATTERNS), texts, (source, text) => {
        const expected = new RegExp(source, 's').exec(text)
        const found = compilePattern(source, { dotAll: true }).find(text)
        expect(found?.text).toBe(expected?.[0])
        expect({ ...found?.groups }).toEqual({ ...expected?.groups })
        expect(compilePattern(source, { dotAll: true }).test(text)).toBe(expected !== null)
      }),
      { numRuns: 5_000 },
    )
  })

  it('takes its flags alike in short texts and in long ones', () => {
    for (const b of ['b', 'b'.repeat(100)]) {
      const found = (text: string, flags = {}) => {
        const pattern = compilePattern('^a.(?<b>b+)$', flags)
        expect(pattern.test(text)).toBe(pattern.find(text) !== undefined)
        return pattern.find(text)?.groups.b
      }
      expect(found(`a-${b}`)).toBe(b)
      expect(found(`a\n${b}`)).toBeUndefined()
      expect(found(`a\n${b}`, { dotAll: true })).toBe(b)
      expect(found(`A-${b}`)).toBeUndefined()
      expect(found(`A-${b}`, { ignoreCase: true })).toBe(b)
      expect(found(`A\n${b}`, { ignoreCase: true, dotAll: true })).toBe(b)
    }
  })

  it.each([
    ['^(a+)+$', 'a'.repeat(4_000)],
    ['^(a|aa)*$', 'a'.repeat(4_000)],
    ['^(?:\\d+,?)+$', '1'.repeat(4_000)],
    ['^\\s*\\s*\\s*\\s*\\s*x$', ' '.repeat(4_000)],
    ['^(?<value>([0-9]+)*)E$', '0'.repeat(4_000)],
    ['^.*.*.*=.*$', 'x'.repeat(1_000_000)],
  ])('ends in time with %s, whose like runs away elsewhere', (source, start) => {
    const pattern = compilePattern(source)
    const from = performance.now()
    expect(pattern.test(`${start}!`)).toBe(false)
    expect(performance.now() - from).toBeLessThan(2_000)
  })

  it.each(['(', '[a', '(?=x)', '(?<!x)', '(a)\\1', 'a{2,1}'])('refuses %s in words', (source) => {
    expect(() => compilePattern(source)).toThrow(/.+/)
  })
})
