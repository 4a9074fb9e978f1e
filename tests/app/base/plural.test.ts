import { describe, expect, it } from 'vitest'
import { counted, formOf } from '../../../app/base/plural.ts'

describe('counted', () => {
  it('says one of a thing, none and many by the rules of the language', () => {
    expect([0, 1, 2].map((n) => counted(n, 'setpoint'))).toEqual(['0 setpoints', '1 setpoint', '2 setpoints'])
    expect(counted(1, 'entry', 'entries')).toBe('1 entry')
    expect(counted(12_345, 'reading')).toBe('12\u2009345 readings')
    // Four figures stand together, more in threes.
    expect([9999, 10_000, 1_234_567, -10_000].map((n) => counted(n, 'mK'))).toEqual([
      ...['9999 mKs', '10\u2009000 mKs', '1\u2009234\u2009567 mKs', '-10\u2009000 mKs'],
    ])
  })
})

describe('formOf', () => {
  // Categories of Polish by CLDR: one 1, few 2 to 4, many 5 to 21.
  it('takes the category that the language has for a number', () => {
    const forms = { one: 'punkt', few: 'punkty', many: 'punktów', other: 'punktu' }
    expect([1, 3, 5, 22, 1.5].map((n) => formOf(n, forms, 'pl'))).toEqual([
      'punkt',
      'punkty',
      'punktów',
      'punkty',
      'punktu',
    ])
  })
})
