import { describe, expect, it } from 'vitest'
import { compileAnswer } from '../../../drivers/profile/reply.ts'
import { Answer, Linear } from '../../../drivers/profile/schema-answers.ts'

const read = (more: object, text: string) =>
  compileAnswer(Answer.parse({ kind: 'value', unit: 'ohm', ...more }))(text)

describe('a value of a reply', () => {
  it('has marks for texts in place of a number, with blanks around them or without', () => {
    const rule = { pattern: '^(?<value>.*)$', specials: { OPEN: 'not-a-number' } }
    for (const text of ['OPEN', '  OPEN ', '\tOPEN'])
      expect(read(rule, text)).toEqual({
        kind: 'value',
        value: undefined,
        unit: 'ohm',
        marks: ['not-a-number'],
      })
    expect(read(rule, 'OPENED')).toMatchObject({ kind: 'unreadable' })
    // A name that every object has is none of the texts.
    expect(read(rule, 'constructor')).toMatchObject({ kind: 'unreadable' })
    expect(read(rule, ' 100.20 ')).toMatchObject({ value: '100.20', marks: [] })
  })

  it('has the mark of its status, beside that of the text', () => {
    const rule = {
      pattern: '^(?<status>[A-Z])(?<value>.*)$',
      specials: { '---': 'not-a-number' },
      status: { O: 'over-range' },
    }
    expect(read(rule, 'N1.5')).toMatchObject({ value: '1.5', marks: [] })
    expect(read(rule, 'O1.5')).toMatchObject({ value: '1.5', marks: ['over-range'] })
    expect(read(rule, 'O---')).toMatchObject({ value: undefined, marks: ['not-a-number', 'over-range'] })
  })

  it('is taken in the units it may come in, and in no other', () => {
    const units = { kohm: { unit: 'ohm', power: 3 }, ohm: { unit: 'ohm' }, V: { unit: 'V' } }
    const rule = { pattern: '^(?<value>\\S+)(?: (?<unit>\\w+))?$', units }
    expect(read(rule, '0.1002 kohm')).toMatchObject({ value: '0.1002E3' })
    expect(read(rule, '100.2 ohm')).toMatchObject({ value: '100.2' })
    expect(read(rule, '100.2')).toMatchObject({ value: '100.2' })
    for (const text of ['1 V', '1 mohm', '1 constructor'])
      expect(read(rule, text)).toMatchObject({ kind: 'unreadable' })
  })

  it('has a decimal comma as a point, and is not read where it has both', () => {
    expect(read({ comma: true }, '100,2')).toMatchObject({ value: '100.2' })
    expect(read({ comma: true }, '1.100,2')).toMatchObject({ kind: 'unreadable' })
    expect(read({}, '100,2')).toMatchObject({ kind: 'unreadable' })
  })

  it('is the part between separators that is meant, and of a row each with its place or its time', () => {
    const field = { separator: ',', index: 1 }
    expect(read({ field }, '1,2,3')).toMatchObject({ value: '2' })
    expect(read({ field }, '1')).toMatchObject({ kind: 'unreadable' })
    const inputs = read({ many: { of: 'inputs', separator: ';', first: 3 } }, '1; 2 ;3;')
    expect(inputs).toMatchObject({ value: '3', place: 5 })
    expect(inputs).toMatchObject({
      row: [
        { value: '1', place: 3, raw: '1' },
        { value: '2', place: 4, raw: '2' },
        { value: '3', place: 5, raw: '3' },
      ],
    })
    const pattern = '^(?<value>\\S+)@(?<time>\\S+)$'
    const moments = read({ pattern, many: { of: 'moments', separator: ';', timePower: -3 } }, '1@0;2@250')
    expect(moments).toMatchObject({
      row: [
        { value: '1', timeS: 0 },
        { value: '2', timeS: 0.25 },
      ],
    })
    expect(read({ pattern, many: { of: 'moments', separator: ';' } }, '1@x')).toMatchObject({
      kind: 'unreadable',
    })
  })
})

describe('what is no value', () => {
  const reading = (answer: object, text: string) => compileAnswer(Answer.parse(answer))(text)

  it('is taken as its rule says', () => {
    expect(reading({ kind: 'none' }, '')).toEqual({ kind: 'acknowledged' })
    expect(reading({ kind: 'none' }, 'OK')).toMatchObject({ kind: 'unreadable' })
    expect(reading({ kind: 'acknowledge', pattern: '^OK$' }, 'OK')).toEqual({ kind: 'acknowledged' })
    expect(reading({ kind: 'acknowledge', pattern: '^OK$' }, 'NO')).toMatchObject({ kind: 'unreadable' })
    expect(reading({ kind: 'text' }, ' on ')).toEqual({ kind: 'text', text: 'on' })
    expect(reading({ kind: 'text', pattern: '^on$' }, 'off')).toMatchObject({ kind: 'unreadable' })
    expect(reading({ kind: 'bits' }, '16')).toEqual({ kind: 'bits', bits: 16 })
    expect(reading({ kind: 'bits', base: 16, pattern: '^S(?<bits>.*)$' }, 'S1F')).toEqual({
      kind: 'bits',
      bits: 31,
    })
    expect(reading({ kind: 'bits' }, 'x')).toMatchObject({ kind: 'unreadable' })
  })
})

describe('a linear conversion', () => {
  it('has numbers up to 1E12 on either side, and divides by none that is 0', () => {
    const taken = (rule: object) => Linear.safeParse(rule).success
    for (const name of ['plus', 'times', 'over'])
      for (const sign of [1, -1]) {
        expect(taken({ [name]: sign * 1e12 })).toBe(true)
        expect(taken({ [name]: sign * 1.0001e12 })).toBe(false)
      }
    expect(taken({ plus: 0 })).toBe(true)
    expect(taken({ times: 0 })).toBe(false)
    expect(taken({ over: 0 })).toBe(false)
    expect(Linear.parse({})).toEqual({ plus: 0, times: 1, over: 1 })
  })
})
