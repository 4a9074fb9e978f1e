import { ThermocoupleType } from '../../app/kinds/conversion.ts'
import { KINDS, type KindName, THERMOMETER_KINDS } from '../../app/kinds/table.ts'
import { CELL_POINTS } from '../../app/records/cell.ts'
import { COEFFICIENT_NAMES, SUBRANGES } from '../../app/thermometry/its90-subranges.ts'
import type { FieldSpec, Texts } from '../parts/forms.ts'
import { CELSIUS_UNITS } from '../text/numbers.ts'
import { ACCURACY_ABOUT } from './accuracy.model.ts'

export const KIND_NAMES = Object.fromEntries(
  Object.entries(KINDS).map(([kind, { name }]) => [kind, name]),
) as Record<KindName, string>

const celsius = { type: 'number', unit: '°C', units: CELSIUS_UNITS } as const

/** Away for calibration, recalled, broken: no bench starts with it, and whoever measures with it is told. */
const OUT_OF_USE: readonly FieldSpec[] = [
  { key: 'outOfUse.since', label: 'Out of use since', type: 'date', optional: true },
  {
    key: 'outOfUse.why',
    label: 'Why it is out of use',
    type: 'text',
    optional: true,
    about: 'Where it is, or what is wrong with it. Leave both open when it is back.',
  },
]

export const THERMOMETER_FIELDS: readonly FieldSpec[] = [
  { key: 'name', label: 'Name', type: 'text' },
  {
    key: 'kind',
    label: 'Kind',
    type: 'choice',
    choices: THERMOMETER_KINDS.map((id) => ({ id, name: KIND_NAMES[id] })),
  },
  { key: 'maker', label: 'Maker', type: 'text' },
  { key: 'model', label: 'Model', type: 'text' },
  { key: 'serial', label: 'Serial number', type: 'text' },
  { key: 'owner', label: 'Owner', type: 'text' },
  {
    key: 'nominalOhm',
    label: 'Nominal resistance',
    type: 'number',
    unit: 'Ω',
    optional: true,
    about: 'At 0 °C for platinum, at 25 °C for thermistors.',
    when: ({ kind }) => kind !== 'thermocouple',
  },
  {
    key: 'thermocoupleType',
    label: 'Type of thermocouple',
    type: 'choice',
    optional: true,
    when: ({ kind }) => kind === 'thermocouple',
    choices: ThermocoupleType.options.map((id) => ({ id, name: id })),
  },
  {
    key: 'construction',
    label: 'Element',
    type: 'choice',
    optional: true,
    when: ({ kind }) => kind === 'prt',
    none: 'Not stated',
    about: 'The class of IEC 60751 depends on it; where it is not stated, no class is printed.',
    choices: [
      { id: 'wire-wound', name: 'Wire-wound' },
      { id: 'film', name: 'Film' },
    ],
  },
  { key: 'lowC', label: 'Never colder than', ...celsius },
  { key: 'highC', label: 'Never hotter than', ...celsius, about: 'The station warns when it has been.' },
  { key: 'currentMa', label: 'Measuring current', type: 'number', unit: 'mA' },
  { key: 'selfHeatingMk', label: 'Self-heating', type: 'number', unit: 'mK', optional: true },
  {
    key: 'wtpLimitMk',
    label: 'R(0.01 °C) may change by',
    type: 'number',
    unit: 'mK',
    optional: true,
    when: ({ kind }) => kind === 'sprt',
    about:
      'More than this within a session, or since the last entry, holds its results until a person decides; empty: any change beyond its uncertainty does.',
  },
  {
    key: 'fit',
    label: 'Fitted by',
    type: 'choice',
    optional: true,
    choices: [
      { id: 'its90', name: 'ITS-90' },
      { id: 'callendar-van-dusen', name: 'Callendar-Van Dusen' },
      { id: 'steinhart-hart', name: 'Steinhart-Hart' },
      { id: 'thermocouple', name: 'Deviation from the reference function' },
      { id: 'polynomial', name: 'Polynomial' },
    ],
  },
  { key: 'note', label: 'Note', type: 'text', optional: true },
  ...OUT_OF_USE,
]

export const CALIBRATION_FIELDS: readonly FieldSpec[] = [
  { key: 'date', label: 'Date', type: 'date' },
  { key: 'due', label: 'Recalibration due', type: 'date', optional: true },
  { key: 'certificate', label: 'Certificate', type: 'text' },
  { key: 'laboratory', label: 'Laboratory', type: 'text' },
  { key: 'lowC', label: 'Valid from', ...celsius },
  { key: 'highC', label: 'Valid to', ...celsius },
  {
    key: 'atZeroCurrent',
    label: 'Coefficients hold',
    type: 'flag',
    optional: true,
    none: 'As those of its kind usually do',
    choices: [
      {
        id: 'yes',
        name: 'At zero current',
        about: 'Self-heating is taken off a reading before its temperature is shown.',
      },
      { id: 'no', name: 'At the measuring current', about: 'Self-heating is in the coefficients.' },
    ],
  },
]

/** Expanded uncertainty as printed: two columns. */
export const UNCERTAINTY_FIELDS: readonly FieldSpec[] = [
  { key: 'k', label: 'Coverage factor k', type: 'number' },
  {
    key: 'points',
    label: 'Expanded uncertainty',
    type: 'text',
    optional: true,
    about: 'One line for each: temperature in °C, a space, uncertainty in mK.',
  },
]

const number = (key: string, label: string, optional = false, unit?: string): FieldSpec => ({
  key,
  label,
  type: 'decimal',
  ...(optional ? { optional } : {}),
  ...(unit ? { unit } : {}),
})
/** Covariance as certificates print it, in the order of the coefficients that stand above it. */
const covariance = (prefix = '', label = 'Covariance of the coefficients'): FieldSpec => ({
  key: `${prefix}covariance`,
  label,
  type: 'matrix',
  optional: true,
  about: 'A row in each line, in the order of the coefficients typed above; up to the diagonal is enough.',
})
const POINT_NAMES: Readonly<Record<string, string>> = {
  'e-H2': 'hydrogen',
  O2: 'oxygen',
  Ar: 'argon',
  Hg: 'mercury',
  Ga: 'gallium',
  In: 'indium',
  Sn: 'tin',
  Zn: 'zinc',
  Al: 'aluminium',
  Ag: 'silver',
}

/** A subrange as people say it: '3.3.2.3: water to tin, 0 to 231.928 °C'. */
function subrangeName({ section, lowC, highC, fixedPoints }: (typeof SUBRANGES)[number]): string {
  const name = (symbol: string | undefined) => POINT_NAMES[symbol ?? ''] ?? symbol ?? ''
  const ends =
    section === '3.3.3'
      ? 'mercury to gallium'
      : highC > 1
        ? `water to ${name(fixedPoints.at(-1))}`
        : `${name(fixedPoints[0])} to water`
  return `${section}: ${ends}, ${lowC} to ${highC} °C`
}
const sections = SUBRANGES.map((range) => ({ id: range.section, name: subrangeName(range) }))
const its90Set = (prefix: string): FieldSpec[] => [
  {
    key: `${prefix}subrange`,
    label: 'Subrange, section of ITS-90',
    type: 'choice',
    choices: sections,
    optional: true,
  },
  ...COEFFICIENT_NAMES.map((name) => ({
    ...number(`${prefix}coefficients.${name}`, name, true),
    // Only those that the deviation function of this subrange has; where none is named, those of above 0 °C.
    when: (texts: Texts) => {
      const section = texts[`${prefix}subrange`]
      if (!section) return prefix === '' && /^[abcd]$/.test(name)
      return SUBRANGES.some((range) => range.section === section && range.coefficients.includes(name))
    },
  })),
  {
    ...covariance(prefix),
    when: (texts: Texts) => prefix === '' || (texts[`${prefix}subrange`] ?? '') !== '',
  },
]

export interface ConversionForm {
  name: string
  about: string
  fields: readonly FieldSpec[]
}

/** Coefficients as a certificate prints them, by kind of conversion. */
export const CONVERSION_FORMS: Record<string, ConversionForm> = {
  its90: {
    name: 'ITS-90, platinum',
    about:
      'R at the water triple point and the deviation coefficients of one subrange; a second subrange for the other side of 0 °C.',
    fields: [
      number('rWtp', 'R(WTP) / Ω'),
      {
        key: 'uRWtp',
        label: 'Standard uncertainty of R(WTP)',
        type: 'number',
        unit: 'Ω',
        units: { Ω: 1, ohm: 1, mΩ: 1e-3, µΩ: 1e-6 },
        optional: true,
      },
      ...its90Set(''),
      ...its90Set('joined.').map((f) => ({ ...f, label: `Second subrange: ${f.label}` })),
    ],
  },
  'callendar-van-dusen': {
    name: 'Callendar-Van Dusen',
    about: 'R0 in ohm, A in 1/°C, B in 1/°C², and C in 1/°C⁴ where the range goes below 0 °C.',
    fields: [
      number('r0', 'R0 / Ω'),
      number('a', 'A', false, '°C⁻¹'),
      number('b', 'B', false, '°C⁻²'),
      number('c', 'C', true, '°C⁻⁴'),
      covariance(),
    ],
  },
  iec60751: {
    name: 'IEC 60751',
    about: 'The industrial relation; only R0 where it is not 100 Ω.',
    fields: [number('r0', 'R0 / Ω', true)],
  },
  'steinhart-hart': {
    name: 'Steinhart-Hart',
    about: 'Coefficients of 1/T in powers of ln R; three of them mean powers 0, 1 and 3.',
    fields: [{ key: 'coefficients', label: 'Coefficients', type: 'decimals', about: 'One in each line.' }],
  },
  beta: {
    name: 'Beta',
    about: 'R0 at T0 and beta in kelvin.',
    fields: [number('r0', 'R0 / Ω'), number('t0', 'T0 / °C', true), number('beta', 'beta / K'), covariance()],
  },
  thermocouple: {
    name: 'Thermocouple',
    about: "The type's reference function and the calibration's deviation from it.",
    fields: [
      {
        key: 'type',
        label: 'Type',
        type: 'choice',
        choices: ThermocoupleType.options.map((id) => ({ id, name: id })),
      },
      {
        key: 'deviation',
        label: 'Deviation polynomial / mV',
        type: 'decimals',
        optional: true,
        about: 'Ascending powers of °C, one in each line.',
      },
    ],
  },
  polynomial: {
    name: 'Polynomial',
    about: 'Temperature as a polynomial of the signal.',
    fields: [
      {
        key: 'coefficients',
        label: 'Coefficients',
        type: 'decimals',
        about: 'Ascending powers, one in each line.',
      },
    ],
  },
  table: {
    name: 'Table',
    about: 'Straight lines between points.',
    fields: [
      { key: 'x', label: 'Signal', type: 'decimals', about: 'One in each line.' },
      { key: 'y', label: 'Temperature / °C', type: 'decimals', about: 'One in each line.' },
    ],
  },
}

export const RESISTOR_FIELDS: readonly FieldSpec[] = [
  { key: 'name', label: 'Name', type: 'text' },
  { key: 'maker', label: 'Maker', type: 'text' },
  { key: 'serial', label: 'Serial number', type: 'text' },
  { key: 'nominalOhm', label: 'Nominal value', type: 'number', unit: 'Ω', units: { Ω: 1, ohm: 1, kΩ: 1000 } },
  { key: 'keptAtC', label: 'Enclosure temperature', ...celsius },
  {
    key: 'uKeptAtK',
    label: 'Standard uncertainty of the enclosure temperature',
    type: 'number',
    unit: 'K',
    units: { K: 1, mK: 1e-3 },
  },
  { key: 'maxCurrentMa', label: 'Current at most', type: 'number', unit: 'mA', optional: true },
  { key: 'note', label: 'Note', type: 'text', optional: true },
  ...OUT_OF_USE,
]

/** A relative value as it may be typed, in millionths: 0.4 ppm, 0.00004 %. */
const PPM = { ppm: 1, '%': 1e4 } as const

export const RESISTOR_CALIBRATION_FIELDS: readonly FieldSpec[] = [
  { key: 'date', label: 'Date', type: 'date' },
  { key: 'due', label: 'Recalibration due', type: 'date', optional: true },
  { key: 'certificate', label: 'Certificate', type: 'text' },
  { key: 'laboratory', label: 'Laboratory', type: 'text' },
  { key: 'ohm', label: 'Value / Ω', type: 'decimal' },
  { key: 'celsius', label: 'At', ...celsius },
  { key: 'alphaPerK', label: 'alpha / K⁻¹', type: 'number', about: 'Relative change per kelvin.' },
  { key: 'betaPerK2', label: 'beta / K⁻²', type: 'number' },
  {
    key: 'driftPerYear',
    label: 'Relative drift per year',
    type: 'number',
    unit: 'ppm',
    scale: 1e-6,
    units: PPM,
  },
  {
    key: 'expandedRelative',
    label: 'Relative expanded uncertainty',
    type: 'number',
    unit: 'ppm',
    scale: 1e-6,
    units: PPM,
  },
  { key: 'k', label: 'Coverage factor k', type: 'number' },
]

const isBridge = ({ role }: Texts) => role === 'ratio-bridge'

export const INSTRUMENT_FIELDS: readonly FieldSpec[] = [
  { key: 'name', label: 'Name', type: 'text' },
  {
    key: 'role',
    label: 'Role',
    type: 'choice',
    choices: [
      { id: 'ratio-bridge', name: 'Ratio bridge' },
      { id: 'scanner', name: 'Channel scanner' },
      { id: 'bath', name: 'Bath' },
      { id: 'meter', name: 'Meter' },
      { id: 'environment', name: 'Environment' },
    ],
  },
  { key: 'maker', label: 'Maker', type: 'text' },
  { key: 'model', label: 'Model', type: 'text' },
  { key: 'serial', label: 'Serial number', type: 'text' },
  { key: 'calibrated', label: 'Calibrated', type: 'date', optional: true },
  { key: 'due', label: 'Recalibration due', type: 'date', optional: true },
  { key: 'certificate', label: 'Certificate', type: 'text', optional: true },
  {
    key: 'bridge.linearityRatio',
    label: 'Bridge: linearity, standard uncertainty of ratio',
    type: 'number',
    unit: 'ppm of ratio 1',
    scale: 1e-6,
    units: PPM,
    optional: true,
    when: isBridge,
  },
  {
    key: 'bridge.resolutionRatio',
    label: 'Bridge: resolution (last digit)',
    type: 'number',
    unit: 'ppm of ratio 1',
    scale: 1e-6,
    units: PPM,
    optional: true,
    when: isBridge,
  },
  {
    key: 'bridge.noiseRatio',
    label: 'Bridge: noise, standard uncertainty of ratio',
    type: 'number',
    unit: 'ppm of ratio 1',
    scale: 1e-6,
    units: PPM,
    optional: true,
    when: isBridge,
  },
  {
    key: 'bridge.lowestRatio',
    label: 'Bridge: lowest ratio',
    type: 'number',
    optional: true,
    when: isBridge,
  },
  {
    key: 'bridge.highestRatio',
    label: 'Bridge: highest ratio',
    type: 'number',
    optional: true,
    when: isBridge,
  },
  {
    key: 'accuracy',
    label: 'Accuracy by range',
    type: 'lines',
    optional: true,
    about: ACCURACY_ABOUT,
    when: ({ role }) => role === 'meter',
  },
  { key: 'note', label: 'Note', type: 'text', optional: true },
  ...OUT_OF_USE,
]

export const BATH_FIELDS: readonly FieldSpec[] = [
  { key: 'name', label: 'Name', type: 'text' },
  { key: 'maker', label: 'Maker', type: 'text' },
  { key: 'model', label: 'Model', type: 'text' },
  { key: 'serial', label: 'Serial number', type: 'text' },
  { key: 'due', label: 'Survey due', type: 'date', optional: true },
  { key: 'note', label: 'Note', type: 'text', optional: true },
  ...OUT_OF_USE,
]

export const CELL_FIELDS: readonly FieldSpec[] = [
  { key: 'name', label: 'Name', type: 'text' },
  {
    key: 'fixedPoint',
    label: 'Fixed point',
    type: 'choice',
    choices: CELL_POINTS.map((id) => ({ id, name: id === 'H2O' ? 'WTP, water' : id })),
  },
  { key: 'maker', label: 'Maker', type: 'text' },
  { key: 'serial', label: 'Serial number', type: 'text' },
  {
    key: 'depthM',
    label: 'Depth of the element below the surface',
    type: 'number',
    unit: 'mm',
    scale: 1e-3,
    units: { mm: 1, cm: 10, m: 1000 },
  },
  {
    key: 'uDepthM',
    label: 'Standard uncertainty of the depth',
    type: 'number',
    unit: 'mm',
    scale: 1e-3,
    units: { mm: 1, cm: 10, m: 1000 },
  },
  {
    key: 'pressurePa',
    label: 'Pressure in the cell',
    type: 'number',
    unit: 'kPa',
    scale: 1e3,
    units: { kPa: 1, Pa: 1e-3, hPa: 0.1, mbar: 0.1 },
    optional: true,
    about: 'Left empty: 101.325 kPa. Of no account at a triple point.',
  },
  {
    key: 'uPressurePa',
    label: 'Standard uncertainty of the pressure',
    type: 'number',
    unit: 'kPa',
    scale: 1e3,
    units: { kPa: 1, Pa: 1e-3, hPa: 0.1, mbar: 0.1 },
    optional: true,
  },
  {
    key: 'offsetMk',
    label: 'Cell minus ITS-90',
    type: 'number',
    unit: 'mK',
    units: { mK: 1, µK: 1e-3 },
    about: 'As its certificate states it.',
  },
  {
    key: 'uMk',
    label: 'Standard uncertainty of the cell',
    type: 'number',
    unit: 'mK',
    units: { mK: 1, µK: 1e-3 },
    about: 'Isotopes and impurities, from its certificate or a comparison of cells.',
  },
  { key: 'calibrated', label: 'Calibrated', type: 'date', optional: true },
  { key: 'due', label: 'Recalibration due', type: 'date', optional: true },
  { key: 'certificate', label: 'Certificate', type: 'text', optional: true },
  { key: 'laboratory', label: 'Laboratory', type: 'text', optional: true },
  { key: 'note', label: 'Note', type: 'text', optional: true },
]

export const FLUID_FIELDS: readonly FieldSpec[] = [
  { key: 'name', label: 'Name', type: 'text' },
  { key: 'lowC', label: 'Used from', ...celsius },
  { key: 'highC', label: 'Used to', ...celsius },
  {
    key: 'flashPointC',
    label: 'Flash point',
    ...celsius,
    optional: true,
    about: "As the maker's data sheet gives it.",
  },
  { key: 'marginK', label: 'Stay below it by', type: 'number', unit: 'K' },
  {
    key: 'cautions',
    label: 'Cautions',
    type: 'lines',
    about: 'One in each line; shown before the bath heats. Local rules come first.',
  },
]
