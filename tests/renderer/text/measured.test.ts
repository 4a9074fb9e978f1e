import { afterEach, describe, expect, it } from 'vitest'
import { measured, measuredPlain, measuredWords, uncertaintyText } from '../../../renderer/text/measured.ts'
import { setDecimalSign } from '../../../renderer/text/numbers.ts'

/** Thin spaces made visible. */
const words = (...given: Parameters<typeof measured>) =>
  measuredWords(measured(...given)).replaceAll('\u2009', '_')

afterEach(() => setDecimalSign('.'))

// JCGM 100:2008, 7.2.6: at most two significant digits for an uncertainty, and the estimate to the same place.
describe('measuredWords', () => {
  it('gives the uncertainty two digits and the value the same last place', () => {
    expect(words(29.764612, 'degC', 0.0006)).toBe('29.7646 °C ± 1.2 mK (k = 2)')
    expect(words(29.7646123, 'degC', 0.00006)).toBe('29.764_61 °C ± 0.12 mK (k = 2)')
    expect(words(100.0012345, 'ohm', 0.00021, 2.02)).toBe('100.001_23 Ω ± 0.42 mΩ (k = 2.02)')
    expect(words(-0.13, 'mK', 1.8, 2)).toBe('−0.1 mK ± 3.6 mK (k = 2)')
  })

  it('shares the power of ten of a small number with its uncertainty', () => {
    expect(words(0.003908473, '1/°C', 2.7e-7)).toBe('(3.908_47 ± 0.000_54) × 10⁻³ 1/°C (k = 2)')
  })

  it('writes the reader’s decimal sign', () => {
    setDecimalSign(',')
    expect(words(29.7646123, 'degC', 0.00006)).toBe('29,764_61 °C ± 0,12 mK (k = 2)')
  })

  it('keeps a place before the decimal sign where the uncertainty is large', () => {
    expect(words(15681.3, 'K', 600)).toBe('15_700 K ± 1200 K (k = 2)')
  })

  it('promises nothing where no uncertainty is known', () => {
    expect(words(14.979843982594575, 'degC', null)).toBe('14.979_844 °C')
    expect(words(1e-12, '1', null)).toBe('1 × 10⁻¹²')
  })

  it('says what kind of number it is', () => {
    expect(
      measuredWords({ value: 1.4999, unit: 'mK', expanded: null, k: 1, digits: 2, about: 'type B' }),
    ).toBe('1.5 mK (type B)')
  })
})

describe('measuredPlain', () => {
  it('is ASCII with every digit, a decimal point and the uncertainty in the unit of the value', () => {
    setDecimalSign(',')
    expect(measuredPlain(measured(29.764613402, 'degC', 0.0006))).toBe(
      '29.764613402 degC +/- 0.0012 degC (k=2)',
    )
    expect(measuredPlain(measured(-5.8e-7, '1/°C²', 2.1e-9, 2.02))).toBe(
      '-5.8e-7 1/degC^2 +/- 4.242e-9 1/degC^2 (k=2.02)',
    )
    expect(measuredPlain(measured(1.0000001, 'ratio', null))).toBe('1.0000001')
  })
})

describe('uncertaintyText', () => {
  it('rounds to two significant digits everywhere, also above one', () => {
    expect(uncertaintyText(0.0996)).toBe('0.10')
    expect(uncertaintyText(124)).toBe('120')
    expect(uncertaintyText(0.00996)).toBe('0.010')
    expect(uncertaintyText(2.449e-5)).toBe('0.000\u2009024')
  })
})
