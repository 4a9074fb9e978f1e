import { describe, expect, it } from 'vitest'
import { decimalsShown, expanded, honest, honestDecimals } from '../../../renderer/signs/digits.ts'

describe('honest', () => {
  it('ends the strong digits where the uncertainty begins', () => {
    expect(honest(100.012345, 0.0021, 'degC')).toEqual({ strong: '100.012', weak: '3' })
    expect(honest(100.012345, 0.0048, 'degC', 0)).toEqual({ strong: '100.012', weak: '' })
    expect(honest(-38.83442, 0.00021, 'degC', 2)).toEqual({ strong: '\u221238.8344', weak: '20' })
  })

  it('lets a large uncertainty take the decimals, sign included', () => {
    expect(honest(152.34, 3, 'mK')).toEqual({ strong: '152', weak: '.3' })
  })

  it('promises nothing where there is no uncertainty and shows a dash where there is no number', () => {
    expect(honest(1.5, null, 'degC')).toEqual({ strong: '1.500', weak: '' })
    expect(honest(null, 0.1, 'degC').strong).toBe('\u2013')
    expect(honest(Number.NaN, 0.1, 'degC').strong).toBe('\u2013')
  })

  it('fills up with blanks so that decimal signs stand in line', () => {
    const a = honest(22.17841, 0.0002, 'degC', 1, 5)
    const b = honest(22.9, 0.2, 'degC', 1, 5)
    expect((a.strong + a.weak).length).toBe((b.strong + b.weak).length)
    expect(decimalsShown(0.0002, 'degC')).toBe(5)
  })
})

describe('honestDecimals', () => {
  it('is the place of the first digit the uncertainty touches', () => {
    expect([0.0021, 0.1, 0.09, 1, 25].map(honestDecimals)).toEqual([3, 1, 2, 0, 0])
  })
})

describe('expanded', () => {
  it('gives two digits and its k', () => {
    expect(expanded(0.0021)).toBe('\u00b10.0042 (k = 2)')
    expect(expanded(null)).toBe('uncertainty not known')
  })
})
