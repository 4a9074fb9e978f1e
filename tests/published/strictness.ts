/**
 * How many checks each publication has, and how many figures they hold within which limit. The numbers follow from what the
 * publication prints: a check that is dropped, skips a figure or is made easier differs from them.
 */
export interface Strictness {
  readonly checks: number
  /** Figures by their limit in words. */
  readonly figures: Readonly<Record<string, number>>
}

/** One figure for each of these limits. */
const once = (unit: string, limits: string): Record<string, number> =>
  Object.fromEntries(limits.split(/\s+/).map((limit) => [`${limit} ${unit}`, 1]))

export const STRICTNESS: Readonly<Record<string, Strictness>> = {
  // Tables 1 and 2 of the scale: fourteen points of a single temperature; Wr is printed for twelve, gold and copper have none.
  'its90-fixed-points': {
    checks: 29,
    figures: {
      'the same': 43,
      '5e-11 °C': 14,
      '5e-19 K/Pa': 14,
      '5e-15 K/m': 14,
      '5e-9': 12,
      '5e-13 K': 28,
    },
  },
  // 176: both functions every 7 K from -259 °C to 0 °C (38) and from there to 961 °C (138). Twelve points of Table 1 with Wr; 17 and 25 temperatures computed to twenty digits.
  'its90-reference-functions': {
    checks: 59,
    figures: {
      'the same': 2,
      '1e-14 relative': 176,
      '5e-11 °C': 2,
      '0.1 mK': 1,
      '0.135 mK': 1,
      '2e-14 relative': 22,
      '5e-9': 12,
      '1e-12 relative': 12,
      '5e-12 °C': 29,
      '5e-7 mK': 54,
      '1e-15 relative': 32,
      '1e-19 relative': 44,
      '1e-12 °C': 25,
      '5e-13': 1,
    },
  },
  // Table 5: eleven subranges, for each both limits in K (22) and six facts.
  'its90-subranges': {
    checks: 14,
    figures: {
      'the same': 84,
      '5e-11 K': 22,
    },
  },
  // Seven printed deviations of NIST SP 250-81; 123 temperatures of eleven computed thermometers, one in each subrange.
  'its90-worked-examples': {
    checks: 136,
    figures: {
      '5.1e-10': 7,
      '5e-14': 14,
      '5e-15 relative': 7,
      '1e-10 relative': 127,
      'the same': 250,
      '1e-15': 4,
      '5e-9 relative': 8,
      '5e-10': 8,
      '1e-9 relative': 248,
      '2e-15': 17,
      '1e-12 relative': 6,
      '2e-11 °C': 246,
      '1e-19 relative': 246,
      '1e-12 °C': 123,
      '1e-14 relative': 251,
      '1e-15 relative': 1,
    },
  },
  // Table A.1 every 25 K from -200 °C to 850 °C: 43 temperatures; the way back may err by half of 0.1 mΩ over dR/dt, which grows from 0.43 Ω/K to 0.29 Ω/K. Fourteen resistances back by two paths. Thirteen temperatures of printed tolerances, class A at ten of them.
  iec60751: {
    checks: 75,
    figures: {
      'the same': 63,
      '5e-15 1/°C': 1,
      '5e-7 1/°C': 1,
      '0.00005 Ω': 43,
      '0.005 Ω': 43,
      '5.1e-9 Ω/K': 43,
      '1e-11 °C': 28,
      '0.05 °C': 23,
      '0.0092 Ω': 23,
      ...once(
        '°C',
        `0.000116 0.000118 0.00012 0.000122 0.000123 0.000125 0.000126 0.000127 0.000128
0.000129 0.00013 0.000131 0.000132 0.000133 0.000134 0.000135 0.000136 0.000137
0.000138 0.000139 0.00014 0.000142 0.000143 0.000144 0.000145 0.000146 0.000148
0.000149 0.00015 0.000151 0.000153 0.000154 0.000156 0.000157 0.000158 0.00016
0.000161 0.000163 0.000164 0.000166 0.000168 0.000169 0.000171`,
      ),
    },
  },
  // Eight types; emf printed to 0.001 mV at 286 temperatures, computed at 69. 2e-13 of the emf, at least of 1 mV, is what rounding leaves of it. The least and the largest error of twenty-three published inverses, as computed to 0.1 mK and as stated.
  'thermocouple-its90-nist': {
    checks: 49,
    figures: {
      'the same': 133,
      '0.0005 mV': 286,
      '2e-13 mV': 27,
      '2e-9 relative': 69,
      '3e-14 relative': 69,
      '1e-7 °C': 66,
      '0.00051 mV': 276,
      '0.00005 °C': 46,
      '0.025 °C': 13,
      '0.035 °C': 8,
      '0.015 °C': 4,
      '2e-11 mV': 4,
      '4.59e-12 mV': 2,
      '0.055 °C': 3,
      '0.045 °C': 7,
      '0.065 °C': 1,
      '0.0055 °C': 2,
      '0.001 °C': 1,
      '0.0015 °C': 2,
      '0.0025 °C': 3,
      '0.0007 °C': 2,
      '2.5 of the middle': 1,
      ...once(
        'mV',
        `4.33e-13 2.76e-12 3.57e-13 1.27e-12 3.16e-12 6.1e-12 9.99e-12 1.53e-11 1.62e-12
3.05e-13 1.06e-12 2.51e-12 7.34e-12 1.39e-11 2.39e-13 8.23e-13 1.88e-12 3.44e-12
5.49e-12 1.1e-11 5.58e-13 1.4e-12 2.74e-12 9.5e-12 3.51e-13 7.22e-13 1.26e-12
4.22e-12 3.43e-13 6.89e-13 1.17e-12 3.74e-12 2.37e-13 8.6e-13 2.2e-12 4.17e-12`,
      ),
    },
  },
  // Sixteen pairs of MGH10, fitted twice; seven temperatures of the textbook thermistor, seven of the beta equation; twelve points of the published cubic.
  'thermistor-examples': {
    checks: 19,
    figures: {
      '1e-13 relative': 18,
      '5e-12 °C': 14,
      'the same': 9,
      '1e-11 relative': 3,
      '5e-11 °C': 7,
      '1e-7 relative': 16,
      '5e-7 mK': 32,
      '1e-9 relative': 10,
      '2e-11 relative': 4,
      '0.000001 relative': 3,
      '1e-14 relative': 7,
      '1e-10 relative': 1,
      '0.0005 °C': 1,
      '0.03 °C': 12,
    },
  },
  // Table G.2: nineteen rows of six, each as printed (0.005, the last row 0.0005) and to nine digits.
  gum: {
    checks: 37,
    figures: {
      '0.5 nm': 6,
      '5e-9 relative': 116,
      '5e-7 relative': 1,
      '0.7 nm²': 1,
      '0.05 nm': 4,
      'the same': 9,
      '5e-9 nm': 1,
      '0.0005': 11,
      '0.2': 1,
      '0.05 10⁻⁶/°C': 1,
      '0.005 °C': 2,
      '0.05 10⁻⁷/°C': 1,
      '0.0005 °C': 2,
      '0.005': 115,
      '0.005 nm': 1,
      '0.0005 V': 1,
      '0.0005 mA': 1,
      '0.000005 rad': 2,
      '0.00005 V': 1,
      '0.00005 mA': 1,
      '0.0005 Ω': 3,
      '5e-9 Ω': 3,
      '5e-8 Ω': 9,
      '0.001 Ω': 1,
      '0.0007 Ω': 1,
      '0.005 Ω': 1,
      '5e-8': 3,
      '1e-8': 2,
      '6e-7': 1,
      '0.0011 Ω': 1,
      '0.00005 °C': 5,
      '0.000005': 2,
      '5e-13 °C': 8,
      '5e-13': 4,
      '5e-12': 1,
      '5e-15 °C²': 1,
      '5e-10': 3,
      '0.005 %': 1,
      '5e-13 %': 1,
      '0.05': 1,
      '0.05 %': 1,
      '0.00005 %': 1,
      '0.05 °C': 4,
      '5e-9 °C': 2,
    },
  },
  // Limits of a Monte Carlo of a million trials and more: some thousandths; of a closed form: what it is printed to.
  jcgm101: {
    checks: 8,
    figures: {
      'the same': 13,
      '5e-13': 4,
      '0.01': 4,
      '0.02': 2,
      '0.005': 5,
      '0.006': 2,
      '0.05': 2,
      '5e-10 mg': 2,
      '0.00005 mg': 2,
      '5e-8 mg': 1,
      '0.0001 mg': 2,
      '5e-7 mg': 1,
      '0.0005 mg': 4,
      '0.0003 mg': 2,
      '0.001 mg': 3,
      '0.003 mg': 1,
      '0.002 mg': 4,
      '5e-16': 1,
      '0.005 relative': 6,
      '1e-9': 1,
      '5 10⁻⁶': 1,
      '5e-10 relative': 1,
      '0.5 10⁻⁶': 1,
      '0.2 nm': 1,
      '0.6 nm': 1,
      '2 nm': 2,
    },
  },
  // Eight univariate sets with three certified values each. Eleven regressions with 55 coefficients: B and s(B) certified, to 14.3 digits, and recomputed exactly, to 15.
  'nist-strd': {
    checks: 33,
    figures: {
      'at least 14.8 digits': 24,
      'the same': 31,
      'at least 8 digits': 1,
      'at least 14.3 digits': 145,
      'at least 15 digits': 121,
      'at least 13.5 digits': 2,
      'at least 13 digits': 3,
      'at least 14.5 digits': 26,
      'at least 12.8 digits': 6,
      'at least 14 digits': 11,
    },
  },
  // Forty printed deviations: seven kinds and the standard deviation, at two averages of nine points and at three of a thousand; four kinds at nine octaves.
  allan: {
    checks: 50,
    figures: {
      'the same': 43,
      '0.00002': 10,
      '5e-14 relative': 76,
      '4e-7 relative': 40,
      '5e-7 relative': 12,
      '0.000005 relative': 2,
      '0.05': 2,
      '0.1': 2,
      '5e-7': 1,
    },
  },
  // Half a unit of the last digit that practice states.
  'practice-facts': {
    checks: 13,
    figures: {
      '5e-10 1/K': 1,
      '0.005 µK': 1,
      '0.000005 Ω/K': 1,
      '0.05 Ω': 1,
      '0.0005 Ω': 1,
      '5e-7 mK': 1,
      '0.000005 mK': 6,
      '0.00005 mK': 4,
      '0.0005 mK': 2,
      '0.005 ppm': 1,
      '0.005 mK': 2,
      '5e-11': 1,
      '5e-9': 1,
      'the same': 1,
      '0.005': 2,
      '0.0005': 2,
      '5e-10 Ω': 1,
      '5e-13 Ω': 1,
      '0.0005 Ω/K': 2,
      '0.005 mΩ': 1,
      '0.05 ppm': 1,
      '0.000005 1/K': 1,
      '0.6 µV/K': 7,
      '0.4 µV/K': 11,
      '0.000005 ppb': 1,
    },
  },
}
