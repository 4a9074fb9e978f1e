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

  it('draws the line through what was known before the day: not through what came later, nor the day twice', () => {
    const found = compare(1.0000019)
    const later: Resistor = {
      ...own,
      calibrations: [
        ...own.calibrations,
        { ...found.calibration, ohm: '100.00040' },
        { ...own.calibrations[0]!, date: '2027-03-01', ohm: '100.00060' },
      ],
    }
    const request = {
      ...{ date: '2026-03-01', ratio: 1.0000019, uRatio: 5e-8, better },
      ...{ certificate: 'own comparison', laboratory: 'Quennick Temperature Laboratory' },
    }
    expect(compareResistor({ ...request, resistor: later }).drift).toEqual(found.drift)
  })

  it('keeps what the certificate knew of the drift, and never knows less without saying why', () => {
    const certified: Resistor = {
      ...own,
      calibrations: [
        {
          ...own.calibrations[0]!,
          date: '2025-09-01',
          ohm: '100.00010',
          driftPerYear: 2e-7,
          uDriftPerYear: 2e-7,
          expandedRelative: 5e-7,
        },
      ],
    }
    const request = {
      date: '2026-03-01',
      ratio: 1.00000114,
      uRatio: 5e-8,
      better,
      certificate: 'own comparison',
      laboratory: 'Quennick Temperature Laboratory',
    }
    const { drift, calibration } = compareResistor({ ...request, resistor: certified })
    // The line alone: 1.4e-7 in half a year, each end known to 2.5e-7 and 7e-8; with the certificate's 2e-7 +- 2e-7:
    const alone = { d: 1.4e-7 / (181 / 365.25), u: Math.hypot(2.5e-7, 7.07e-8) / (181 / 365.25) }
    const weight = 1 / alone.u ** 2 + 1 / 2e-7 ** 2
    expect(drift!.perYear).toBeCloseTo((alone.d / alone.u ** 2 + 2e-7 / 2e-7 ** 2) / weight, 9)
    expect(drift!.u).toBeCloseTo(1 / Math.sqrt(weight), 9)
    expect(drift!.u).toBeLessThan(2e-7)
    expect(drift!.words).toContain('the drift that none states')
    expect(calibration.driftFromHistory).toBe(true)
    // The next comparison takes the certificate's drift again, and not the mixture, as knowledge beside the values.
    const next = compareResistor({
      ...request,
      date: '2026-09-01',
      resistor: { ...certified, calibrations: [...certified.calibrations, calibration] },
    })
    expect(next.drift!.words).toContain('From 3 values and the drift that none states')
  })

  it('says why a drift is less certain than before where the values contradict one another', () => {
    const values = ['100.00010', '100.00090', '100.00010', '100.00095'].map((ohm, i) => ({
      date: `202${i}-03-01`,
      ohm,
    }))
    const torn = resistor('torn', values, 1e-7)
    torn.calibrations[0]!.driftPerYear = 1e-7
    torn.calibrations[0]!.uDriftPerYear = 1e-8
    const { drift } = compareResistor({
      date: '2026-03-01',
      ratio: 1.000001,
      uRatio: 5e-8,
      better,
      resistor: torn,
      certificate: '',
      laboratory: '',
    })
    expect(drift!.u).toBeGreaterThan(1e-8)
    expect(drift!.words).toMatch(/Less certain than .* times farther from one line/)
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
