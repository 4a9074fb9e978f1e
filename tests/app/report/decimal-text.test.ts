import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { addText, shiftText } from '../../../app/report/decimal-text.ts'

describe('addText', () => {
  it('adds without a double in between', () => {
    expect(addText('0.1', '0.2')).toBe('0.3')
    expect(addText('24.99572', '273.15')).toBe('298.14572')
    expect(addText('-273.150001', '273.15')).toBe('-0.000001')
  })
})

describe('shiftText', () => {
  it('moves the point and nothing else', () => {
    expect(shiftText('0.36', -3)).toBe('0.00036')
    expect(shiftText('-1009', 2)).toBe('-100900')
    expect(shiftText('2.4e-7', 0)).toBe('0.00000024')
    expect(shiftText('1.230', 3)).toBe('1230')
  })

  it('comes back', () => {
    fc.assert(
      fc.property(fc.integer({ min: -1e9, max: 1e9 }), fc.integer({ min: 0, max: 8 }), (units, decimals) => {
        const text = (units / 10 ** decimals).toFixed(decimals)
        return Number(shiftText(shiftText(text, -3), 3)) === Number(text)
      }),
    )
  })
})
