import { describe, expect, it } from 'vitest'
import { inUnit, unitOf } from '../../../app/dcc/si.ts'

describe('unitOf', () => {
  it.each([
    ['\\ohm', 'ohm', 0, 0],
    ['\\kilogram\\metre\\tothe{2}\\ampere\\tothe{-2}\\second\\tothe{-3}', 'ohm', 0, 0],
    ['\\kilogram\\metre\\tothe{2}\\ampere\\tothe{-1}\\second\\tothe{-3}', 'volt', 0, 0],
    ['\\kilogram\\metre\\tothe{2}\\ampere\\tothe{-1}\\second\\tothe{-2}', 'other', 0, 0],
    ['\\volt\\per\\ampere', 'ohm', 0, 0],
    ['\\ohm\\ampere', 'volt', 0, 0],
    ['\\volt\\per\\ohm', 'ampere', 0, 0],
    ['\\ohm\\per\\ohm', 'one', 0, 0],
    ['\\milli\\kelvin', 'kelvin', -3, 1],
    ['\\kelvin\\tothe{-2}', 'one', 0, -2],
    ['\\ohm\\per\\kelvin', 'ohm', 0, -1],
    ['\\per\\kelvin\\ohm', 'ohm', 0, -1],
    ['\\micro\\volt\\per\\kelvin', 'volt', -6, -1],
    ['\\milli\\volt\\kelvin', 'volt', -3, 1],
    ['\\ohm\\per\\milli\\kelvin', 'ohm', 3, -1],
    ['\\milli\\kelvin\\tothe{2}', 'one', -6, 2],
    ['\\per\\kelvin\\tothe{2}', 'one', 0, -2],
    ['\\kilo\\ohm', 'ohm', 3, 0],
    ['\\milli\\ampere', 'ampere', -3, 0],
    ['\\one', 'one', 0, 0],
    ['\\percent', 'one', -2, 0],
    ['\\degreecelsius', 'celsius', 0, 0],
    ['\\metre', 'other', 0, 0],
    ['\\second', 'other', 0, 0],
    ['\\kilogram', 'other', 0, 0],
    ['\\furlong', 'other', 0, 0],
    ['\\constructor', 'other', 0, 0],
    ['\\valueof\\ohm', 'other', 0, 0],
  ])('takes %s for what it is', (text, quantity, power, kelvin) => {
    expect(unitOf(text)).toEqual({ quantity, power, kelvin })
  })

  // SI brochure, 9th edition (2019, updated 2022), table 7: all twenty-four.
  it.each([
    ...['deca 1', 'hecto 2', 'kilo 3', 'mega 6', 'giga 9', 'tera 12', 'peta 15', 'exa 18', 'zetta 21'],
    ...['yotta 24', 'ronna 27', 'quetta 30', 'deci -1', 'centi -2', 'milli -3', 'micro -6', 'nano -9'],
    ...['pico -12', 'femto -15', 'atto -18', 'zepto -21', 'yocto -24', 'ronto -27', 'quecto -30'],
  ])('knows the prefix %s', (row) => {
    const [prefix, power] = row.split(' ')
    expect(unitOf(`\\${prefix}\\ohm`)).toEqual({ quantity: 'ohm', power: Number(power), kelvin: 0 })
  })
})

describe('inUnit', () => {
  it('moves the decimal point and keeps every digit', () => {
    expect(inUnit('0.10', unitOf('\\ohm'))).toBe('0.10')
    expect(inUnit('-6.469E-07', unitOf('\\ohm'))).toBe('-6.469E-07')
    expect(inUnit('1.5', unitOf('\\deca\\ohm'))).toBe('15')
    expect(inUnit('1.230', unitOf('\\kilo\\ohm'))).toBe('1230')
    expect(inUnit('12.30', unitOf('\\milli\\kelvin'))).toBe('0.01230')
  })
})
