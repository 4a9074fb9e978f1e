import { describe, expect, it } from 'vitest'
import { compareResistor } from '../../../app/checks/resistor-check.ts'
import { Resistor } from '../../../app/records/register.ts'

const resistor = (
  id: string,
  calibrations: readonly { date: string; ohm: string }[],
  expandedRelative: number,
): Resistor =>
  Resistor.parse({
    id,
    name: `Resistor ${id}`,
    nominalOhm: 100,
    keptAtC: 20,
    uKeptAtK: 0,
    calibrations: calibrations.map((c) => ({
      id: `${id}-${c.date}`,
      certificate: 'none',
      laboratory: 'Quennick Temperature Laboratory',
      celsius: 20,
      expandedRelative,
      ...c,
    })),
  })

const better = resistor('better', [{ date: '2026-01-10', ohm: '100.000000' }], 1e-7)
const own = resistor(
  'own',
  [
    { date: '2023-03-01', ohm: '100.00010' },
    { date: '2024-03-01', ohm: '100.00013' },
    { date: '2025-03-01', ohm: '100.00016' },
  ],
  4e-7,
)

const compare = (ratio: number) =>
  compareResistor({
    date: '2026-03-01',
    ratio,
    uRatio: 5e-8,
    better,
    resistor: own,
    certificate: 'own comparison',
    laboratory: 'Quennick Temperature Laboratory',
  })

describe('compareResistor', () => {
  it('gives the value and what it adds to the register', () => {
    const { ohm, uRelative, calibration } = compare(1.0000019)
    expect(ohm).toBeCloseTo(100.00019, 8)
    expect(uRelative).toBeCloseTo(Math.hypot(5e-8, 5e-8), 10)
    expect(calibration.ohm).toBe('100.000190000')
    expect(calibration.expandedRelative).toBeCloseTo(2 * uRelative, 12)
  })

  it('finds the drift of the years', () => {
    // 30 microohm in 100 ohm each year is 3e-7 per year.
    expect(compare(1.0000019).drift!.perYear).toBeCloseTo(3e-7, 9)
  })

  it('says whether it agrees with what the register led to expect', () => {
    expect(compare(1.0000019).expected!.agrees).toBe(true)
    expect(compare(1.00002).expected!.agrees).toBe(false)
  })

  it('refuses a better resistor without a calibration in force', () => {
    expect(() =>
      compareResistor({
        date: '2025-12-01',
        ratio: 1,
        uRatio: 1e-8,
        better,
        resistor: own,
        certificate: '',
        laboratory: '',
      }),
    ).toThrow(/no calibration in force on 2025-12-01/)
  })
})
