import { describe, expect, it } from 'vitest'
import { checkThermometer } from '../../../app/checks/register-check.ts'
import { Thermometer } from '../../../app/records/register.ts'

/** IEC 60751: alpha of A and B is (A + 100 B) per kelvin: 3.85055E-3 of 3.9083E-3 and -5.775E-7. */
const CVD = { kind: 'callendar-van-dusen', r0: '100', a: '3.9083E-3', b: '-5.775E-7', c: '-4.183E-12' }
const CALIBRATION = {
  ...{ id: 'c', date: '2025-03-01', certificate: 'K-7', laboratory: 'Quennick Temperature Laboratory' },
  ...{ lowC: -40, highC: 150, conversion: CVD },
  uncertainty: { k: 2, points: [{ celsius: 0, expandedMk: 10 }] },
}
const told = (more: object, calibration: object = {}) =>
  checkThermometer(
    Thermometer.parse({
      ...{ id: 't', name: 'T', kind: 'prt', nominalOhm: 100, lowC: -40, highC: 150 },
      calibrations: [{ ...CALIBRATION, ...calibration }],
      ...more,
    }),
  ).map(({ severity, words }) => `${severity}: ${words}`)

describe('checkThermometer', () => {
  it('finds nothing in an entry that fits together', () => {
    expect(told({})).toEqual([])
    expect(told({ calibrations: [] })).toEqual([])
    expect(told({}, { due: '2025-03-02' })).toEqual([])
  })

  it('finds ranges upside down and due dates that are not after the certificate', () => {
    for (const highC of [-40, -50])
      expect(told({ highC })).toEqual([
        `error: The range ends at ${highC} °C, below its beginning at -40 °C.`,
      ])
    for (const highC of [-40, -50])
      expect(told({}, { highC })).toEqual([
        `error: Certificate K-7: its range ends at ${highC} °C, below its beginning.`,
      ])
    for (const due of ['2025-03-01', '2024-03-01'])
      expect(told({}, { due })).toEqual([
        `error: Certificate K-7: due on ${due}, which is not after its date, 2025-03-01.`,
      ])
    expect(told({}, { uncertainty: undefined, certificate: '' })).toEqual([
      'warning: Certificate c: no uncertainty entered; results that rest on it will lack its part.',
    ])
  })

  it("finds coefficients that are no platinum's, and a resistance far from the nominal one", () => {
    const alpha = (a: string) => told({}, { conversion: { ...CVD, a, b: '0' } })
    // With B = 0 alpha is A; between 3.75E-3 and 3.94E-3 per kelvin.
    expect([alpha('3.7501E-3'), alpha('3.9399E-3')]).toEqual([[], []])
    expect(alpha('3.7499E-3')[0]).toMatch(
      /^error: .* alpha 0\.003750 per K; platinum lies between 0\.00375 and/,
    )
    expect(alpha('3.9401E-3')[0]).toMatch(/alpha 0\.003940 per K/)
    const r0 = (ohm: string) => told({}, { conversion: { ...CVD, r0: ohm } })
    expect([r0('104.9'), r0('95.1')]).toEqual([[], []])
    expect(r0('105.1')).toEqual([
      'warning: Certificate K-7: R(0 °C) = 105.1 ohm is far from the nominal 100 ohm.',
    ])
    expect(r0('94.9')).toHaveLength(1)
    expect(told({ nominalOhm: undefined }, { conversion: { ...CVD, r0: '94.9' } })).toEqual([])
  })

  it('finds a range beyond that of the function', () => {
    const [found, ...others] = told({}, { conversion: { kind: 'iec60751', r0: '100' }, highC: 900 })
    expect(found).toMatch(/^warning: Certificate K-7: 900 °C lies outside the range of its function/)
    expect(others).toEqual([])
  })

  it('finds R(0.01 °C) that is far from nominal, or has jumped, whatever order it was entered in', () => {
    const history = (...ohms: string[]) =>
      told({
        nominalOhm: 25,
        calibrations: [],
        wtpHistory: ohms.map((ohm, i) => ({ date: `2025-0${i + 1}-01`, ohm, uOhm: 1e-5 })).toReversed(),
      })
    expect(history('25.4', '25.400253')).toEqual([])
    // A slip of the decimal sign is told once, and what stands beside it is compared across it.
    const slip = [expect.stringMatching(/^error: R\(WTP\) of .*, 2\.54 ohm, is far from the nominal 25 ohm/)]
    expect(history('2.54', '25.4')).toEqual(slip)
    expect(history('25.4', '2.54')).toEqual(slip)
    expect(history('25.4', '2.54', '25.4')).toEqual(slip)
    expect(history('25.4', '2.54', '25.41')).toHaveLength(2)
    expect([history('26.2').length, history('26.3').length]).toEqual([0, 1])
    // 1E-5 of the ratio, over 3.9885E-3 per kelvin, is 2.5 mK.
    expect(history('25.4', '25.400508')).toEqual([
      'warning: R(WTP) changed by 20.0 parts in 10^6 between 2025-01-01 and 2025-02-01, about 5.0 mK. Look for a typing error, or for what happened to the thermometer.',
    ])
    expect(history('25.4', '25.399492')[0]).toMatch(/changed by -20\.0 parts in 10\^6 .* about 5\.0 mK/)
    expect(history('25.4', '25.40026')).toHaveLength(1)
  })
})
