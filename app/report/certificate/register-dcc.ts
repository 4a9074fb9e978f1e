import { at as placed } from '../../base/lists.ts'
import type { FixedPointValue } from '../../checks/fixed-point.ts'
import type { FixedPointCalibration } from '../../checks/fixed-point-calibration.ts'
import type { ThermometerCalibration } from '../../records/register.ts'
import type { ReportNumber } from '../blocks.ts'
import { hybridTemperatures, realList, uncertaintiesOf, type Xml } from '../dcc-parts.ts'
import { numberAt } from '../numbers.ts'
import { deviationEquation } from '../words.ts'
import { coefficientQuantities, type DccContent, type NamedNumber, quantity } from './dcc-document.ts'
import { named, plainContent, said } from './dcc-text.ts'
import type { Speaker } from './speaker.ts'

/** Numbers of the certificate by their keys, as it prints them. */
type Numbers = Readonly<Record<string, ReportNumber>>

const withU = (entries: readonly ReportNumber[], unit: string, probability: string): Xml =>
  realList(
    entries.map(({ value }) => value),
    unit,
    uncertaintiesOf(entries, probability),
  )

export interface FixedPointsFound {
  readonly calibration: ThermometerCalibration
  readonly found: FixedPointCalibration
  readonly values: readonly FixedPointValue[]
  /** Depth of the element in each cell, m. */
  readonly depthsM: readonly number[]
}

/** What a calibration at fixed points states for a program: resistance and W at each, coefficients with covariance, U over the range. */
export function fixedPointsDcc(
  say: Speaker,
  { calibration, found, values, depthsM }: FixedPointsFound,
  numbers: Numbers,
  probability: string,
): DccContent {
  const at = (what: string) => values.flatMap((_, i) => numbers[`plateau.${i + 1}.${what}`] ?? [])
  const numberOf = (name: string): NamedNumber => ({
    name: name === 'rWtp' ? 'R(0.01 °C)' : name,
    entry: numberAt(numbers, `coefficient.${name}`),
  })
  const { names, matrix } = found.covariance
  const together = names.map(numberOf)
  const alone = found.coefficients
    .filter(({ name }) => !names.includes(name))
    .map(({ name }) => numberOf(name))
  const covariance = (a: NamedNumber, b: NamedNumber) =>
    placed(placed(matrix, together.indexOf(a)), together.indexOf(b)).toExponential(6)
  const section = calibration.conversion.kind === 'its90' ? (calibration.conversion.subrange ?? '') : ''
  const table = (calibration.uncertainty?.points ?? []).map(({ celsius }) => celsius)
  const printed = (what: string) => table.map((t) => numberAt(numbers, `table.${t}.${what}`))
  const end = (type: string, key: 'dcc.range.low' | 'dcc.range.high', celsius: number) =>
    quantity(type, say, key, hybridTemperatures([celsius.toFixed(3)]))
  const others = values.filter(({ fixedPoint }) => fixedPoint !== 'H2O')
  return {
    method: { refType: 'gp_resistanceThermometer', key: 'dcc.method.fixed-points', norm: 'ITS-90' },
    conditions: {
      'dcc:influenceCondition': {
        '@refType': 'gp_immersionDepth',
        ...named(say, 'immersion'),
        'dcc:data': {
          'dcc:quantity': {
            ...named(say, 'immersion'),
            ...realList(
              depthsM.map((depth) => (depth * 1e3).toFixed(0)),
              'mm',
            ),
          },
        },
      },
    },
    range: {
      '@refType': 'basic_validityRange',
      'dcc:declaration': said(say, 'dcc.range'),
      'dcc:data': {
        'dcc:quantity': [
          end('basic_validityRangeMin', 'dcc.range.low', calibration.lowC),
          end('basic_validityRangeMax', 'dcc.range.high', calibration.highC),
        ],
      },
    },
    results: [
      {
        '@refType': 'gp_measuringResult1',
        ...named(say, 'results'),
        'dcc:data': {
          'dcc:list': {
            '@refType': 'gp_table1',
            'dcc:quantity': [
              quantity(
                'basic_referenceValue',
                say,
                'dcc.reference',
                hybridTemperatures(values.map(({ t90C }) => t90C.toFixed(5))),
              ),
              quantity(
                'basic_measuredValue',
                say,
                'column.resistance.zero',
                withU(at('ohm'), 'Ω', probability),
              ),
            ],
          },
        },
      },
      {
        ...named(say, 'dcc.ratios'),
        'dcc:data': {
          'dcc:list': {
            'dcc:quantity': [
              quantity(
                'basic_referenceValue',
                say,
                'dcc.reference',
                hybridTemperatures(others.map(({ t90C }) => t90C.toFixed(5))),
              ),
              quantity('basic_measuredValue', say, 'column.ratio', withU(at('w'), '1', probability)),
            ],
          },
        },
      },
      {
        '@refType': 'gp_coefficients',
        ...named(say, 'model.its90'),
        'dcc:description': plainContent(`${deviationEquation(section)} (ITS-90, ${section})`),
        'dcc:data': {
          'dcc:list': {
            '@refType': 'gp_table2',
            'dcc:quantity': coefficientQuantities(say, together, covariance, probability, alone),
          },
        },
      },
      {
        ...named(say, 'dcc.relation'),
        'dcc:data': {
          'dcc:list': {
            'dcc:quantity': [
              quantity(null, say, 'column.t90', hybridTemperatures(table.map(String))),
              quantity(
                null,
                say,
                'column.resistance.zero',
                realList(
                  printed('ohm').map(({ value }) => value),
                  'Ω',
                ),
              ),
              quantity(
                null,
                say,
                'dcc.curve',
                realList(
                  table.map(() => '0'),
                  'mK',
                  {
                    values: printed('expanded').map(({ value }) => value),
                    k: table.map(() => '2'),
                    probability,
                  },
                ),
              ),
            ],
          },
        },
      },
    ],
  }
}

/** What a resistor's comparison states for a program: one resistance with its U, at the temperature it is kept at. */
export function resistorDcc(
  say: Speaker,
  keptAtC: number,
  resistance: ReportNumber,
  probability: string,
): DccContent {
  return {
    method: { refType: 'gp_resistance', key: 'dcc.method.resistor', norm: 'JCGM 100:2008' },
    conditions: {
      'dcc:influenceCondition': {
        '@refType': 'basic_temperature',
        ...named(say, 'dcc.resistor.temperature'),
        'dcc:data': {
          'dcc:quantity': {
            ...named(say, 'dcc.resistor.temperature'),
            ...hybridTemperatures([keptAtC.toFixed(3)]),
          },
        },
      },
    },
    range: null,
    results: [
      {
        '@refType': 'gp_measuringResult1',
        ...named(say, 'results'),
        'dcc:data': {
          'dcc:list': {
            '@refType': 'gp_table1',
            'dcc:quantity': [
              quantity(
                'basic_referenceValue',
                say,
                'dcc.resistor.temperature',
                hybridTemperatures([keptAtC.toFixed(3)]),
              ),
              quantity('basic_measuredValue', say, 'dcc.resistance', withU([resistance], 'Ω', probability)),
            ],
          },
        },
      },
    ],
  }
}
