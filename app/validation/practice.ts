import { first, last, zip } from '../base/lists.ts'
import { prepare } from '../thermometry/convert.ts'
import { fixedPointTemperature } from '../thermometry/fixed-points.ts'
import { referenceRatio, referenceRatioLow, referenceSlope } from '../thermometry/its90-reference.ts'
import { subrangesFor } from '../thermometry/its90-subranges.ts'
import { resistorValue } from '../thermometry/resistor.ts'
import { selfHeating } from '../thermometry/self-heating.ts'
import { seebeckCoefficient } from '../thermometry/thermocouple.ts'
import figures from './figures/practice-facts.json' with { type: 'json' }
import type { Figures } from './figures.ts'
import { publication } from './publication.ts'

/** Agreement with a figure to half a unit of its last printed digit. */
const rounds = (f: Figures, what: string, value: number, figure: number, unit = '') =>
  f.near(what, value, figure, 0.5001 * 10 ** -(String(figure).split('.')[1] ?? '').length, unit)
const ideal = (rWtp: number) =>
  prepare({ kind: 'its90', rWtp, subrange: '3.3.2.1', coefficients: { a: 0, b: 0, c: 0 } })

export const practice = publication(
  {
    id: 'practice-facts',
    source:
      'Common practice of resistance thermometry, no source; where a figure follows from a published function (ITS-90, IEC 60751, NIST Monograph 175) it is computed from that function',
    standing: figures.source,
    notChecked: [
      'Habits of practice that state no figure: readings ordered so that drift cancels, four wires and reversal, immersion in diameters, the bath’s stability and uniformity, R(WTP) before and after each run, grade of readouts and resistors, the interchange check of a bridge.',
    ],
  },
  (check) => {
    check('a platinum thermometer changes by 0.4 % per kelvin at the triple point of water', (f) => {
      rounds(f, 'dWr/dT', referenceSlope(0.01), figures.slope_at_water_per_K, '1/K')
      rounds(
        f,
        '50e-9 of ratio',
        (50e-9 / referenceSlope(0.01)) * 1e6,
        figures['ratio_50e-9_at_water_uK'],
        'µK',
      )
      rounds(f, '25.5 Ω', 25.5 * referenceSlope(0.01), figures.ohm_per_kelvin_25_5, 'Ω/K')
    })
    check('a platinum thermometer of 25 Ω has about 85 Ω at the aluminium point', (f) => {
      for (const [rWtp, ohm] of zip(figures.ohm_at_aluminium.r_wtp, figures.ohm_at_aluminium.ohm))
        rounds(f, `${rWtp} Ω`, ideal(rWtp).toSignal(660.323).value, ohm, 'Ω')
    })
    check('error for 1 ppm of resistance', (f) => {
      for (const [t90, mK] of figures.mK_per_ppm as [number, number][]) {
        rounds(f, `at ${t90} °C`, (1e-6 * referenceRatio(t90) * 1000) / referenceSlope(t90), mK, 'mK')
      }
      const perRelative = (referenceRatio(0.01) * 1000) / referenceSlope(0.01)
      rounds(f, 'readout of 3 ppm', 3e-6 * perRelative, figures.readout_at_water_mK['3_ppm'], 'mK')
      rounds(f, 'readout of 20 ppb', 20e-9 * perRelative, figures.readout_at_water_mK['20_ppb'], 'mK')
    })
    check('a change of R(WTP) is carried to every temperature', (f) => {
      const { relative, tin_mK, zinc_mK } = figures.wtp_shift_1_mK
      rounds(f, '1 mK at water', relative * 1e6, Number((referenceSlope(0.01) * 1e3).toFixed(2)), 'ppm')
      const prepared = ideal(25.5)
      const shift = (t90: number) =>
        Math.abs(
          prepared.uncertainty(prepared.toSignal(t90).value, { rWtp: 25.5 * 1e-3 * referenceSlope(0.01) })
            .standardUncertainty,
        ) * 1000
      rounds(f, 'at tin', shift(231.928), tin_mK, 'mK')
      rounds(f, 'at zinc', shift(419.527), zinc_mK, 'mK')
    })
    check('a platinum thermometer has W = 0.99996 at 0 °C', (f) => {
      rounds(f, 'Wr', referenceRatioLow(0), figures.wr_at_zero)
      f.decimals('1/1.0000399', 1 / 1.0000399, referenceRatioLow(0), 8)
    })
    check('one coefficient is enough up to the indium point', (f) => {
      f.same(
        'sections',
        subrangesFor(['a']).map(({ section }) => section),
        [figures.indium_section],
      )
    })
    check('ratios of 25.5 Ω between 0 °C and 660 °C', (f) => {
      for (const [ohm, ends] of Object.entries(figures.ratios_25_5_ohm_0_to_660)) {
        rounds(f, `0 °C, resistor of ${ohm} Ω`, ideal(25.5).toSignal(0).value / Number(ohm), first(ends))
        rounds(f, `660 °C, resistor of ${ohm} Ω`, ideal(25.5).toSignal(660).value / Number(ohm), last(ends))
      }
    })
    check('self-heating: √2 I doubles the power, the difference is taken off', (f) => {
      const { ohm_at_I, ohm_at_sqrt2_I, ohm_at_zero, mK } = figures.self_heating
      const result = selfHeating(
        { milliampere: 1, ohm: ohm_at_I },
        { milliampere: Math.SQRT2, ohm: ohm_at_sqrt2_I },
        25.5 * referenceSlope(0.01),
      )
      f.decimals('R at no current', result.ohm, ohm_at_zero, 9, 'Ω')
      f.decimals('2 R(I) - R(√2 I)', result.ohm, 2 * ohm_at_I - ohm_at_sqrt2_I, 12, 'Ω')
      rounds(f, 'self-heating', result.milliKelvin, mK, 'mK')
    })
    check('an industrial platinum thermometer has 0.385 Ω/K from 0 to 100 °C', (f) => {
      const { mean_0_to_100, at_0, mK_as_milliohm, mK_as_ppm } = figures.industrial_ohm_per_K
      const standard = prepare({ kind: 'iec60751' })
      const slope = standard.toSignal(0).dValueDInput
      rounds(
        f,
        'mean slope',
        (standard.toSignal(100).value - standard.toSignal(0).value) / 100,
        mean_0_to_100,
        'Ω/K',
      )
      rounds(f, 'slope at 0 °C', slope, at_0, 'Ω/K')
      rounds(f, '1 mK at 0 °C', slope, mK_as_milliohm, 'mΩ')
      rounds(f, '1 mK at 0 °C', (slope / 100) * 1e3, mK_as_ppm, 'ppm')
    })
    check('a thermistor changes by 4 to 5 % per kelvin at 25 °C', (f) => {
      const { dValueDInput, value } = prepare({ kind: 'beta', r0: 1e4, beta: 3950 }).toSignal(25)
      rounds(f, 'relative slope', -dValueDInput / value, figures.beta_3950_per_K_at_25, '1/K')
    })
    check('Seebeck coefficients at 20 °C', (f) => {
      for (const [type, uV] of Object.entries(figures.seebeck_20_uV_per_K)) {
        // N has 26.6, T 40.3: figures of the trade are rounded to the microvolt.
        f.near(`type ${type}`, seebeckCoefficient(type as 'K', 20) * 1000, uV, 0.6, 'µV/K')
      }
      for (let t = 0; t <= 50; t += 5)
        f.atMost(`type B at ${t} °C`, seebeckCoefficient('B', t) * 1000, 0.4, 'µV/K')
    })
    check('the triple point of water is lower by 0.193 mK under 0.265 m of water', (f) => {
      rounds(
        f,
        'shift',
        (fixedPointTemperature('H2O', 0.265) - 0.01) * 1000,
        figures.wtp_cell_0_265_m_mK,
        'mK',
      )
    })
    check('a resistor of 2 ppm/K moves by 20 ppb for 10 mK', (f) => {
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
      f.decimals('change', (ohm / 25 - 1) * 1e9, figures.resistor_2_ppm_per_K_10_mK_ppb, 5, 'ppb')
    })
  },
)
