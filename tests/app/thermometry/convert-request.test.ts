import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { answerLine } from '../../../app/thermometry/convert-request.ts'

type Answer = {
  id: unknown
  value: number | string
  unit: string
  marks: string[]
  uncertainty?: number
  message?: string
  error?: string
}
const answer = (request: object) => answerLine(JSON.stringify(request), 1) as Answer
const platinum = {
  kind: 'its90',
  rWtp: 25.5,
  subrange: '3.3.2.1',
  coefficients: { a: -1.4e-4, b: -6.8e-6, c: 9.4e-7 },
}
const K = { kind: 'thermocouple', type: 'K' }

describe('answerLine', () => {
  it('answers with id, value, unit and marks', () => {
    const request = {
      id: 1,
      from: 'resistance',
      to: 'temperature',
      value: 25.6,
      conversion: { kind: 'its90', rWtp: 25.5, coefficients: { a: -1e-4, b: -1e-5 } },
    }
    const { value, ...rest } = answer(request)
    expect(rest).toEqual({ id: 1, unit: 'degC', marks: [] })
    expect(value).toBeCloseTo(0.99345933, 7)
  })

  it.each([
    ['temperature', 'resistance', 100, 'ohm'],
    ['resistance', 'temperature', 35.5, 'degC'],
    ['ratio', 'temperature', 1.39, 'degC'],
    ['temperature', 'ratio', 100, '1'],
    ['ratio', 'resistance', 1.39, 'ohm'],
    ['resistance', 'ratio', 35.5, '1'],
  ])('goes from %s to %s and back', (from, to, value, unit) => {
    const there = answer({ id: 'there', from, to, value, conversion: platinum })
    expect(there.unit).toBe(unit)
    const back = answer({ id: 'back', from: to, to: from, value: there.value, conversion: platinum })
    expect(back.value).toBeCloseTo(value as number, 10)
  })

  it('takes and gives kelvin where the unit says so', () => {
    const celsius = answer({ from: 'temperature', to: 'resistance', value: 100, conversion: platinum })
    const kelvin = answer({
      from: 'temperature',
      to: 'resistance',
      value: 373.15,
      unit: 'K',
      conversion: platinum,
    })
    expect(kelvin.value).toBeCloseTo(celsius.value as number, 12)
    expect(kelvin.unit).toBe('ohm')
    const back = answer({
      from: 'resistance',
      to: 'temperature',
      value: celsius.value,
      unit: 'K',
      conversion: platinum,
    })
    expect(back.value).toBeCloseTo(373.15, 10)
    expect(back.unit).toBe('K')
  })

  it('gives text with thirty digits on the exact path, in kelvin as well', () => {
    const request = {
      from: 'resistance',
      to: 'temperature',
      value: '25.6',
      exact: true,
      conversion: platinum,
    }
    const celsius = answer(request)
    expect(celsius.value).toMatch(/^0\.99\d{26,}$/)
    const kelvin = answer({ ...request, unit: 'K' })
    expect(String(kelvin.value).startsWith('274.14')).toBe(true)
    expect(Number(kelvin.value) - Number(celsius.value)).toBeCloseTo(273.15, 12)
  })

  it('keeps the digits of a number that a double would round', () => {
    const line = (value: string) =>
      `{"id":1,"from":"resistance","to":"ratio","value":${value},"exact":true,"conversion":{"kind":"its90","rWtp":1.0000000000000000001,"coefficients":{"a":0}}}`
    const { value } = answerLine(line('1.0000000000000000002'), 1) as Answer
    expect(value).toMatch(/^1\.0000000000000000001/)
    const text = answerLine(line('"1.0000000000000000002"'), 1) as Answer
    expect(text.value).toBe(value)
  })

  it('takes the reference junction off and puts it on', () => {
    const warm = answer({
      from: 'voltage',
      to: 'temperature',
      value: 4.096,
      conversion: { ...K, referenceJunction: 25 },
    })
    const back = answer({
      from: 'temperature',
      to: 'voltage',
      value: warm.value,
      conversion: { ...K, referenceJunction: 25 },
    })
    expect(back.value).toBeCloseTo(4.096, 10)
    // NIST Monograph 175, type K: 1.000 mV at 25 degC, 4.096 mV at 100 degC, both against 0 degC.
    const fromIce = answer({ from: 'voltage', to: 'temperature', value: 4.096 + 1.0, conversion: K })
    expect(Math.abs((warm.value as number) - (fromIce.value as number))).toBeLessThan(0.02)
  })

  it('marks a value outside the range and names the range', () => {
    const hot = answer({ id: 7, from: 'temperature', to: 'resistance', value: 700, conversion: platinum })
    expect(hot.marks).toEqual(['outside-range'])
    expect(hot.message).toMatch(/700 degC is outside 0 degC to 660\.323 degC.*3\.3\.2\.1/)
    expect(hot.value).toBeGreaterThan(85)
  })

  it.each([
    [
      'a resistance with no temperature',
      { from: 'resistance', value: -5, conversion: { kind: 'beta', r0: 1e4, beta: 3950 } },
    ],
    ['a ratio far from any platinum', { from: 'ratio', value: 90, conversion: platinum }],
    [
      'a voltage below the least of type B',
      { from: 'voltage', value: -0.1, conversion: { kind: 'thermocouple', type: 'B' } },
    ],
  ])('refuses %s with the range in words', (_, request) => {
    expect(answer({ id: 3, to: 'temperature', ...request })).toEqual({
      id: 3,
      error: expect.stringContaining('outside'),
    })
  })

  it.each([
    ['no JSON', 'garbage', null, /Line 9 is not JSON/],
    ['no object', '[1]', null, /Line 9 is not a request/],
    ['no conversion', '{"id":4,"from":"ratio","to":"temperature","value":1}', 4, /conversion/],
    [
      'an unknown kind',
      '{"id":4,"from":"ratio","to":"temperature","value":1,"conversion":{"kind":"x"}}',
      4,
      /kind/,
    ],
    [
      'an unknown quantity',
      '{"id":"q","from":"current","to":"temperature","value":1,"conversion":{"kind":"iec60751"}}',
      'q',
      /from/,
    ],
    [
      'no number',
      '{"id":4,"from":"resistance","to":"temperature","value":"x","conversion":{"kind":"iec60751"}}',
      4,
      /value/,
    ],
    [
      'an infinite number',
      '{"id":4,"from":"resistance","to":"temperature","value":1e999,"conversion":{"kind":"iec60751"}}',
      4,
      /value/,
    ],
    [
      'a misspelt coefficient',
      '{"id":4,"from":"ratio","to":"temperature","value":1.1,"conversion":{"kind":"its90","coefficients":{"A":1}}}',
      4,
      /A/,
    ],
    [
      'twice the same quantity',
      '{"id":4,"from":"ratio","to":"ratio","value":1,"conversion":{"kind":"iec60751"}}',
      4,
      /both ratio/,
    ],
    [
      'a quantity the kind has not',
      '{"id":4,"from":"voltage","to":"temperature","value":1,"conversion":{"kind":"iec60751"}}',
      4,
      /no voltage/,
    ],
    [
      'a ratio of a thermistor',
      '{"id":4,"from":"ratio","to":"resistance","value":1,"conversion":{"kind":"beta","r0":1,"beta":3950}}',
      4,
      /no ratio/,
    ],
    [
      'a resistance without R(WTP)',
      '{"id":4,"from":"resistance","to":"temperature","value":1,"conversion":{"kind":"its90","coefficients":{"a":0}}}',
      4,
      /rWtp/,
    ],
    [
      'a unit of something else',
      '{"id":4,"from":"resistance","to":"temperature","value":1,"unit":"mV","conversion":{"kind":"iec60751"}}',
      4,
      /mV/,
    ],
  ])('refuses %s in words', (_, line, id, words) => {
    const refusal = answerLine(line, 9)
    expect(refusal).toEqual({ id, error: expect.stringMatching(words) })
  })

  it('propagates the uncertainties that the request carries', () => {
    const request = {
      from: 'resistance',
      to: 'temperature',
      value: 100,
      uncertainty: 0.0039083,
      conversion: { kind: 'iec60751' },
    }
    expect(answer(request).uncertainty).toBeCloseTo(0.01, 8)
    const { uncertainty } = answer({
      from: 'temperature',
      to: 'resistance',
      value: 0,
      uncertainty: 0.01,
      conversion: { kind: 'iec60751' },
    })
    expect(uncertainty).toBeCloseTo(0.0039083, 10)
  })

  it('gives no uncertainty where nothing carries one', () => {
    expect(
      answer({ from: 'resistance', to: 'temperature', value: 100, conversion: { kind: 'iec60751' } }),
    ).not.toHaveProperty('uncertainty')
  })

  it('converts between two signals by a polynomial or a table', () => {
    const table = { kind: 'table', x: [0, 1, 2], y: [0, 10, 30] }
    expect(answer({ from: 'ratio', to: 'voltage', value: 1.5, conversion: table }).value).toBe(20)
    const declared = {
      kind: 'polynomial',
      coefficients: [1, 2],
      from: 'ratio',
      to: 'resistance',
      range: [0, 10],
    }
    expect(answer({ from: 'resistance', to: 'ratio', value: 7, exact: true, conversion: declared })).toEqual({
      id: null,
      value: '3',
      unit: '1',
      marks: [],
    })
    expect(answer({ from: 'ratio', to: 'resistance', value: 11, conversion: declared }).marks).toEqual([
      'outside-range',
    ])
    expect(
      answer({ id: 1, from: 'voltage', to: 'resistance', value: 1, conversion: declared }),
    ).toHaveProperty('error')
  })

  it('joins a set below and a set above the triple point of water', () => {
    const joined = { ...platinum, joined: { subrange: '3.3.1.3', coefficients: { a: -1.6e-4, b: 1e-5 } } }
    for (const value of [-150, -0.5, 0, 0.5, 600]) {
      const there = answer({ from: 'temperature', to: 'ratio', value, conversion: joined })
      expect(there.marks).toEqual([])
      const back = answer({ from: 'ratio', to: 'temperature', value: there.value, conversion: joined })
      expect(back.value).toBeCloseTo(value, 8)
    }
    const cold = { kind: 'its90', subrange: '3.3.1.3', coefficients: { a: -1.6e-4, b: 1e-5 } }
    const alone = answer({ from: 'temperature', to: 'ratio', value: -150, conversion: cold }).value
    expect(answer({ from: 'temperature', to: 'ratio', value: -150, conversion: joined }).value).toBe(alone)
  })

  it('answers any text with one object that JSON can carry, and never throws', () => {
    fc.assert(
      fc.property(
        fc.oneof(
          fc.string(),
          fc.json(),
          fc.anything().map((x) => JSON.stringify(x) ?? ''),
        ),
        (line) => {
          const found = answerLine(line, 1)
          expect(found).toHaveProperty('id')
          expect(JSON.parse(JSON.stringify(found))).toHaveProperty('error')
        },
      ),
      { numRuns: 500 },
    )
  })

  it('answers any numbers in a well-formed request, and never throws', () => {
    const number = fc.oneof(fc.double(), fc.integer(), fc.constantFrom(0, -0, 1e308, -1e308, 5e-324, 1))
    const conversion = fc.oneof(
      fc.record({
        kind: fc.constant('its90'),
        rWtp: number,
        coefficients: fc.record({ a: number, b: number }),
      }),
      fc.record({
        kind: fc.constant('its90'),
        coefficients: fc.record({ a: number, b: number, c1: number }),
      }),
      fc.record({ kind: fc.constant('callendar-van-dusen'), r0: number, a: number, b: number, c: number }),
      fc.record({
        kind: fc.constant('steinhart-hart'),
        coefficients: fc.array(number, { minLength: 2, maxLength: 4 }),
      }),
      fc.record({ kind: fc.constant('beta'), r0: number, beta: number }),
      fc.record({
        kind: fc.constant('thermocouple'),
        type: fc.constantFrom(...'BEJKNRST'),
        referenceJunction: number,
      }),
      fc.record({
        kind: fc.constant('polynomial'),
        coefficients: fc.array(number, { minLength: 2, maxLength: 5 }),
      }),
      fc.record({ kind: fc.constant('table'), x: fc.tuple(number, number), y: fc.tuple(number, number) }),
    )
    const quantity = fc.constantFrom('ratio', 'resistance', 'voltage', 'temperature')
    fc.assert(
      fc.property(quantity, quantity, number, conversion, fc.boolean(), (from, to, value, c, exact) => {
        const found = answer({ id: 1, from, to, value, exact, conversion: c })
        if ('error' in found) expect(found.error).toMatch(/\S/)
        else expect(Number.isFinite(Number(found.value))).toBe(true)
      }),
      { numRuns: 3000 },
    )
  })
})
