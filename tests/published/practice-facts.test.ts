/**
 * Common practice of resistance thermometry, no source; where a figure follows from a published function (ITS-90,
 * IEC 60751, NIST Monograph 175) it is computed from that function here.
 * Not checked, because they state habits and not figures: readings ordered so that drift cancels (tests of plans),
 * four wires and reversal, immersion in diameters, the bath's stability and uniformity, R(WTP) before and after each
 * run, grade of readouts and resistors, and the interchange check of a bridge.
 */
import { describe, expect, it } from 'vitest'
import { prepare } from '../../app/thermometry/convert.ts'
import { fixedPointTemperature } from '../../app/thermometry/fixed-points.ts'
import { referenceRatio, referenceRatioLow, referenceSlope } from '../../app/thermometry/its90-reference.ts'
import { subrangesFor } from '../../app/thermometry/its90-subranges.ts'
import { resistorValue } from '../../app/thermometry/resistor.ts'
import { selfHeating } from '../../app/thermometry/self-heating.ts'
import { seebeckCoefficient } from '../../app/thermometry/thermocouple.ts'
import figures from './figures/practice-facts.json' with { type: 'json' }

/** Agreement with a figure to half a unit of its last printed digit. */
const rounds = (value: number, figure: number) => {
  const places = (String(figure).split('.')[1] ?? '').length
  expect(Math.abs(value - figure)).toBeLessThanOrEqual(0.5001 * 10 ** -places)
}
const ideal = (rWtp: number) =>
  prepare({ kind: 'its90', rWtp, subrange: '3.3.2.1', coefficients: { a: 0, b: 0, c: 0 } })

describe('a standard platinum thermometer', () => {
  it('changes by 0.4 % per kelvin at the triple point of water', () => {
    rounds(referenceSlope(0.01), figures.slope_at_water_per_K)
    rounds((50e-9 / referenceSlope(0.01)) * 1e6, figures['ratio_50e-9_at_water_uK'])
    rounds(25.5 * referenceSlope(0.01), figures.ohm_per_kelvin_25_5)
  })

  it('of 25 ohm has about 85 ohm at the aluminium point', () => {
    figures.ohm_at_aluminium.r_wtp.forEach((rWtp, i) => {
      rounds(ideal(rWtp).toSignal(660.323).value, figures.ohm_at_aluminium.ohm[i]!)
    })
  })

  it.each(figures.mK_per_ppm)('errs at %d degC by %d mK for 1 ppm of its resistance', (t90, mK) => {
    rounds((1e-6 * referenceRatio(t90!) * 1000) / referenceSlope(t90!), mK!)
  })

  it('errs at the triple point of water as its readout does', () => {
    const perRelative = (referenceRatio(0.01) * 1000) / referenceSlope(0.01)
    rounds(3e-6 * perRelative, figures.readout_at_water_mK['3_ppm'])
    rounds(20e-9 * perRelative, figures.readout_at_water_mK['20_ppb'])
  })

  it('carries a change of R(WTP) to every temperature', () => {
    const { relative, tin_mK, zinc_mK } = figures.wtp_shift_1_mK
    rounds(relative * 1e6, Number((referenceSlope(0.01) * 1e3).toFixed(2)))
    const prepared = ideal(25.5)
    const shift = (t90: number) =>
      Math.abs(
        prepared.uncertainty(prepared.toSignal(t90).value, { rWtp: 25.5 * 1e-3 * referenceSlope(0.01) })
          .standardUncertainty,
      ) * 1000
    rounds(shift(231.928), tin_mK)
    rounds(shift(419.527), zinc_mK)
  })

  it('has W = 0.99996 at 0 degC', () => {
    rounds(referenceRatioLow(0), figures.wr_at_zero)
    expect(1 / 1.0000399).toBeCloseTo(referenceRatioLow(0), 8)
  })

  it('needs one coefficient up to the indium point', () => {
    expect(subrangesFor(['a']).map(({ section }) => section)).toEqual([figures.indium_section])
  })

  it('of 25.5 ohm makes these ratios between 0 degC and 660 degC', () => {
    for (const [ohm, [low, high]] of Object.entries(figures.ratios_25_5_ohm_0_to_660)) {
      rounds(ideal(25.5).toSignal(0).value / Number(ohm), low!)
      rounds(ideal(25.5).toSignal(660).value / Number(ohm), high!)
    }
  })
})

describe('zeroCurrentResistance', () => {
  it('doubles the power with sqrt(2) I and takes the difference off', () => {
    const { ohm_at_I, ohm_at_sqrt2_I, ohm_at_zero, mK } = figures.self_heating
    const result = selfHeating(
      { milliampere: 1, ohm: ohm_at_I },
      { milliampere: Math.SQRT2, ohm: ohm_at_sqrt2_I },
      25.5 * referenceSlope(0.01),
    )
    expect(result.ohm).toBeCloseTo(ohm_at_zero, 9)
    expect(result.ohm).toBeCloseTo(2 * ohm_at_I - ohm_at_sqrt2_I, 12)
    rounds(result.milliKelvin, mK)
  })

  it.each(figures.power_uW)('$ohm ohm at $mA mA takes $uW microwatt', ({ ohm, mA, uW }) => {
    expect(mA * mA * ohm).toBeCloseTo(uW, 1)
  })
})

describe('other thermometers', () => {
  it('the industrial one has 0.385 ohm/K from 0 to 100 degC', () => {
    const { mean_0_to_100, at_0, mK_as_milliohm, mK_as_ppm } = figures.industrial_ohm_per_K
    const standard = prepare({ kind: 'iec60751' })
    rounds((standard.toSignal(100).value - standard.toSignal(0).value) / 100, mean_0_to_100)
    rounds(standard.toSignal(0).dValueDInput, at_0)
    rounds(standard.toSignal(0).dValueDInput, mK_as_milliohm)
    rounds((standard.toSignal(0).dValueDInput / 100) * 1e3, mK_as_ppm)
  })

  it('a thermistor changes by 4 to 5 % per kelvin at 25 degC', () => {
    const { dValueDInput, value } = prepare({ kind: 'beta', r0: 1e4, beta: 3950 }).toSignal(25)
    rounds(-dValueDInput / value, figures.beta_3950_per_K_at_25)
    const { ohm, uA, uW } = figures.thermistor_10_kilohm
    expect((uA * 1e-6) ** 2 * ohm * 1e6).toBeCloseTo(uW, 12)
  })

  it.each(Object.entries(figures.seebeck_20_uV_per_K))(
    'type %s has about %d microvolt per kelvin',
    (type, uV) => {
      // N has 26.6, T 40.3: figures of the trade are rounded to the microvolt.
      expect(Math.abs(seebeckCoefficient(type as 'K', 20) * 1000 - uV)).toBeLessThan(0.6)
    },
  )

  it('type B has nearly none below 50 degC', () => {
    for (let t = 0; t <= 50; t += 5) expect(Math.abs(seebeckCoefficient('B', t))).toBeLessThan(0.4e-3)
  })
})

describe('fixedPointTemperature', () => {
  it('is lower by 0.193 mK under 0.265 m of water', () => {
    rounds((fixedPointTemperature('H2O', 0.265) - 0.01) * 1000, figures.wtp_cell_0_265_m_mK)
  })
})

describe('resistorValue', () => {
  it('moves by 20 ppb for 10 mK at 2 ppm/K', () => {
    const calibration = {
      id: 'c',
      date: '2026-01-10',
      certificate: '',
      laboratory: '',
      ohm: '25',
      celsius: 20,
      alphaPerK: 2e-6,
      betaPerK2: 0,
      driftPerYear: 0,
      expandedRelative: 0,
      k: 2,
      uDriftPerYear: 0,
    }
    const { ohm } = resistorValue(calibration, 20.01, '2026-01-10')
    expect((ohm / 25 - 1) * 1e9).toBeCloseTo(figures.resistor_2_ppm_per_K_10_mK_ppb, 5)
  })
})

describe('settling', () => {
  it('leaves 0.09 % of a step after seven time constants', () => {
    rounds(Math.exp(-7), figures.seven_time_constants)
  })
})
