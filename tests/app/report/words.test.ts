import { describe, expect, it } from 'vitest'
import {
  coefficientName,
  countryLine,
  deviationEquation,
  percentOf,
  pointAndLabel,
  pointLabel,
} from '../../../app/report/words.ts'
import { SUBRANGES } from '../../../app/thermometry/its90-subranges.ts'

describe('deviationEquation', () => {
  // ITS-90 (H. Preston-Thomas, Metrologia 27, 1990), equations (12) to (14) and table 5.
  it.each([
    ['3.3.1.3', 'W − Wr = a (W − 1) + b (W − 1) ln W'],
    ['3.3.2', 'W − Wr = a (W − 1) + b (W − 1)² + c (W − 1)³ + d [W − W(660.323 °C)]²'],
    ['3.3.2.1', 'W − Wr = a (W − 1) + b (W − 1)² + c (W − 1)³'],
    ['3.3.2.2', 'W − Wr = a (W − 1) + b (W − 1)²'],
    ['3.3.2.3', 'W − Wr = a (W − 1) + b (W − 1)²'],
    ['3.3.2.4', 'W − Wr = a (W − 1)'],
    ['3.3.2.5', 'W − Wr = a (W − 1)'],
    ['3.3.3', 'W − Wr = a (W − 1) + b (W − 1)²'],
  ])('writes out %s', (section, equation) => {
    expect(deviationEquation(section)).toBe(equation)
  })

  it('has each coefficient of a subrange that it writes out, and no other', () => {
    for (const [section, { coefficients }] of Object.entries(SUBRANGES)) {
      const equation = deviationEquation(section)
      if (equation.includes('table 4')) continue
      const named = [...equation.matchAll(/\b([a-d]) [([]/g)].map(([, name]) => name)
      expect(named, section).toEqual([...coefficients])
    }
  })
})

describe('how coefficients, points and countries are named', () => {
  it('prints a coefficient as its relation writes it', () => {
    expect(coefficientName('its90', 'rWtp')).toBe('R(0.01 °C)')
    expect(coefficientName('callendar-van-dusen', 'r0')).toBe('R0')
    expect(coefficientName('callendar-van-dusen', 'a')).toBe('A')
    expect(coefficientName('steinhart-hart', '3')).toBe('A3')
    expect(coefficientName('thermocouple', '2')).toBe('d2')
    expect(coefficientName('polynomial', '0')).toBe('c0')
    expect(coefficientName('its90', 'a')).toBe('a')
    expect(coefficientName('its90', 'joined.b')).toBe('above 0.01 °C: b')
  })

  it('calls a point by its number, and by what a person called it where that says more', () => {
    expect(['p3', 'point-12', 'wtp-before', 'p3-exchanged', 'plateau'].map(pointLabel)).toEqual([
      ...['3', '12', 'wtp before', '3 exchanged', 'plateau'],
    ])
    expect(pointAndLabel({ point: 'p6', label: 'again' })).toBe('6 (again)')
    expect(pointAndLabel({ point: 'p1-exchanged', label: 'exchanged' })).toBe('1 exchanged')
    expect(pointAndLabel({ point: 'p1', label: null })).toBe('1')
    expect(pointAndLabel({ point: 'p1', label: '' })).toBe('1')
  })

  it('names a country by the code of ISO 3166-1, and none by a code that stands for none', () => {
    expect(countryLine('IE')).toEqual(['Ireland'])
    for (const none of ['', 'ie', 'IRL', 'AA', 'QM', 'QZ', 'XK', 'ZZ'])
      expect(countryLine(none), none).toEqual([])
    expect(countryLine('QA')).toEqual(['Qatar'])
  })

  it('prints a coverage probability in per cent with the digits that it has', () => {
    expect([0.95, 0.9545, 0.99, 0.9973, 0.6827].map(percentOf)).toEqual([
      '95',
      '95.45',
      '99',
      '99.73',
      '68.27',
    ])
  })
})
