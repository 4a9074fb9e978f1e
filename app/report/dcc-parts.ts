import { needed } from '../base/lists.ts'
import type { ReportNumber } from './blocks.ts'
import { addText, moved } from './decimal-text.ts'

/** A piece of XML as xmlbuilder2 takes it: names to content, attributes with an @. */
export type Xml = { readonly [name: string]: unknown }

/** DCC wants text without leading, trailing or doubled blanks, and never none. */
export const filled = (text: string, otherwise = 'not stated'): string =>
  text.replace(/\s+/g, ' ').trim() || otherwise

/** D-SI units of the report's units. */
const UNITS: Readonly<Record<string, { unit: string; power: number }>> = {
  Ω: { unit: '\\ohm', power: 0 },
  'Ω/K': { unit: '\\ohm\\kelvin\\tothe{-1}', power: 0 },
  mV: { unit: '\\volt', power: -3 },
  'mV/K': { unit: '\\volt\\kelvin\\tothe{-1}', power: -3 },
  K: { unit: '\\kelvin', power: 0 },
  mK: { unit: '\\kelvin', power: -3 },
  mA: { unit: '\\ampere', power: -3 },
  mm: { unit: '\\metre', power: -3 },
  '%': { unit: '\\one', power: -2 },
  hPa: { unit: '\\pascal', power: 2 },
  '1': { unit: '\\one', power: 0 },
  '1/K': { unit: '\\kelvin\\tothe{-1}', power: 0 },
  // A power of the degree Celsius is one of a difference, and a difference is in kelvin.
  '1/°C': { unit: '\\kelvin\\tothe{-1}', power: 0 },
  '1/°C²': { unit: '\\kelvin\\tothe{-2}', power: 0 },
  '1/°C⁴': { unit: '\\kelvin\\tothe{-4}', power: 0 },
  '°C': { unit: '\\degreecelsius', power: 0 },
}

/** °C per power n of the signal, or mV per power n of °C, as coefficients of polynomials have it. */
function polynomialUnit(unit: string): { unit: string; power: number } | undefined {
  const perKelvin = /^mV\/°C([²³⁴⁵⁶⁷⁸⁹]?)$/.exec(unit)
  if (perKelvin) {
    const n = perKelvin[1] ? '²³⁴⁵⁶⁷⁸⁹'.indexOf(perKelvin[1]) + 2 : 1
    return { unit: `\\volt\\kelvin\\tothe{-${n}}`, power: -3 }
  }
  const match = /^°C\/(Ω|mV)([²³⁴⁵⁶⁷⁸⁹]?)$/.exec(unit)
  if (!match) return undefined
  const n = match[2] ? '²³⁴⁵⁶⁷⁸⁹'.indexOf(match[2]) + 2 : 1
  return match[1] === 'Ω'
    ? { unit: `\\kelvin\\ohm\\tothe{-${n}}`, power: 0 }
    : { unit: `\\kelvin\\volt\\tothe{-${n}}`, power: 3 * n }
}

export function siUnit(unit: string): { unit: string; power: number } {
  const known = UNITS[unit] ?? polynomialUnit(unit)
  if (!known) throw new RangeError(`${unit} has no D-SI form here`)
  return known
}

/** A single value with its expanded uncertainty. */
export function real(entry: ReportNumber, probability: string, label?: string): Xml {
  const { unit, power } = siUnit(entry.unit)
  return {
    'si:real': {
      ...(label && { 'si:label': filled(label) }),
      'si:value': moved(entry.value, power),
      'si:unit': unit,
      ...(entry.uncertainty !== null &&
        entry.k !== null && {
          'si:measurementUncertaintyUnivariate': {
            'si:expandedMU': {
              'si:valueExpandedMU': moved(entry.uncertainty, power),
              'si:coverageFactor': entry.k,
              'si:coverageProbability': probability,
              'si:distribution': 'normal',
            },
          },
        }),
    },
  }
}

interface ListUncertainty {
  readonly values: readonly string[]
  readonly k: readonly string[]
  readonly probability: string
}

/** Values of one quantity in a list; `u` in the same unit before the unit's power is taken out. */
/** The uncertainties of numbers that all have one. */
export const uncertaintiesOf = (entries: readonly ReportNumber[], probability: string): ListUncertainty => ({
  values: entries.map(({ name, uncertainty }) => needed(uncertainty, `uncertainty of ${name}`)),
  k: entries.map(({ name, k }) => needed(k, `k of ${name}`)),
  probability,
})

export function realList(values: readonly string[], unitName: string, u?: ListUncertainty): Xml {
  const { unit, power } = siUnit(unitName)
  const list = (texts: readonly string[]) => texts.map((t) => moved(t, power))
  return {
    'si:realListXMLList': {
      'si:valueXMLList': list(values).join(' '),
      'si:unitXMLList': unit,
      ...(u && expandedList({ ...u, values: list(u.values) })),
    },
  }
}

/** Temperatures in kelvin and in degrees Celsius beside them; `u` in millikelvin. */
export function hybridTemperatures(celsius: readonly string[], u?: ListUncertainty): Xml {
  const one = (values: readonly string[], unit: string) => ({
    'si:valueXMLList': values.join(' '),
    'si:unitXMLList': unit,
    ...(u && expandedList({ ...u, values: u.values.map((text) => moved(text, -3)) })),
  })
  return {
    'si:hybrid': {
      'si:realListXMLList': [
        one(
          celsius.map((t) => addText(t, '273.15')),
          '\\kelvin',
        ),
        one(celsius, '\\degreecelsius'),
      ],
    },
  }
}

const expandedList = ({ values, k, probability }: ListUncertainty): Xml => ({
  'si:measurementUncertaintyUnivariateXMLList': {
    'si:expandedMUXMLList': {
      'si:valueExpandedMUXMLList': values.join(' '),
      'si:coverageFactorXMLList': k.join(' '),
      'si:coverageProbabilityXMLList': probability,
      'si:distributionXMLList': 'normal',
    },
  },
})
