import { describe, expect, it } from 'vitest'
import type { ResistorCalibration } from '../../../app/records/register.ts'
import { resistorValue } from '../../../app/thermometry/resistor.ts'

const calibration: ResistorCalibration = {
  id: 'cal-1',
  date: '2025-03-01',
  certificate: 'QTL 25-0301',
  laboratory: 'Quennick Temperature Laboratory',
  ohm: '100.0001234',
  celsius: 20,
  alphaPerK: 2e-6,
  betaPerK2: -4e-8,
  driftPerYear: 1e-6,
  expandedRelative: 1e-7,
  k: 2,
  uDriftPerYear: 3e-7,
}

describe('resistorValue', () => {
  it('is the certificate on its day and at its temperature', () => {
    const { ohm, contributions } = resistorValue(calibration, 20, '2025-03-01')
    expect(ohm).toBe(100.0001234)
    expect(contributions).toEqual({ calibration: (100.0001234 * 1e-7) / 2, drift: 0, temperature: 0 })
  })

  it('follows temperature and drift, worked by hand', () => {
    // 365.25 days on are 2026-03-01 06:00; the day itself is 365 days, 0.999316 years.
    const { ohm } = resistorValue(calibration, 23, '2026-03-01')
    const byHand = 100.0001234 * (1 + 3 * 2e-6 - 9 * 4e-8) * (1 + (1e-6 * 365) / 365.25)
    expect(ohm).toBeCloseTo(byHand, 12)
  })

  it('goes back before its calibration as well', () => {
    expect(resistorValue(calibration, 20, '2024-03-01').ohm).toBeLessThan(100.0001234)
  })

  it('sums its uncertainties in squares', () => {
    const { contributions, standardUncertainty, relativeUncertainty, ohm } = resistorValue(
      calibration,
      23,
      '2027-03-01',
      0.05,
    )
    expect(contributions.drift).toBeCloseTo(100 * 2 * 3e-7, 6)
    expect(contributions.temperature).toBeCloseTo(100 * (2e-6 - 2 * 4e-8 * 3) * 0.05, 8)
    expect(standardUncertainty).toBeCloseTo(
      Math.sqrt(contributions.calibration ** 2 + contributions.drift ** 2 + contributions.temperature ** 2),
      15,
    )
    expect(relativeUncertainty).toBeCloseTo(standardUncertainty / ohm, 15)
  })

  it.each([
    ['a date that is none', calibration, 20, 'soon', 'bad-date'],
    ['a calibration date that is none', { ...calibration, date: 'x' }, 20, '2026-01-01', 'bad-date'],
    ['a temperature that is no number', calibration, Number.NaN, '2026-01-01', 'not-finite'],
    ['a resistance of zero', { ...calibration, ohm: '0' }, 20, '2026-01-01', 'not-positive'],
  ])('refuses %s', (_, record, temperature, date, code) => {
    expect(() => resistorValue(record, temperature, date)).toThrow(expect.objectContaining({ code }))
  })
})
