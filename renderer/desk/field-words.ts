import type { RecordKindName } from '../../app/contract/pages.ts'
import type { FieldSpec } from '../parts/forms.ts'
import { printed } from '../text/numbers.ts'
import {
  BATH_FIELDS,
  CALIBRATION_FIELDS,
  CELL_FIELDS,
  CONVERSION_FORMS,
  FLUID_FIELDS,
  INSTRUMENT_FIELDS,
  RESISTOR_CALIBRATION_FIELDS,
  RESISTOR_FIELDS,
  THERMOMETER_FIELDS,
  UNCERTAINTY_FIELDS,
} from './record-fields.ts'

type Fields = readonly FieldSpec[]

/** Fields of a record's form, by the kind of record. */
const FORMS: Partial<Record<RecordKindName, Fields>> = {
  thermometer: THERMOMETER_FIELDS,
  resistor: RESISTOR_FIELDS,
  instrument: INSTRUMENT_FIELDS,
  cell: CELL_FIELDS,
  bath: BATH_FIELDS,
  fluid: FLUID_FIELDS,
}
/** What one entry of a list is called, and the form it is typed in. */
const LISTS: Readonly<Record<string, { one: string; fields?: (kind: string) => Fields }>> = {
  calibrations: {
    one: 'Calibration',
    fields: (kind) => (kind === 'resistor' ? RESISTOR_CALIBRATION_FIELDS : CALIBRATION_FIELDS),
  },
  wtpHistory: { one: 'R(0.01 °C)' },
  comparisons: { one: 'Comparison' },
  checks: { one: 'Check' },
  plateaus: { one: 'Plateau' },
  surveys: { one: 'Survey' },
  repairs: { one: 'Repair' },
  accuracy: { one: 'Accuracy' },
  address: { one: 'Address, line' },
  cautions: { one: 'Caution' },
}
/** Fields without a form of their own. */
const NAMES: Readonly<Record<string, string>> = {
  state: 'In the lists',
  ohm: 'Value / Ω',
  uOhm: 'Standard uncertainty / Ω',
  uMk: 'Standard uncertainty / mK',
  expandedMk: 'Expanded uncertainty / mK',
  celsius: 'At / °C',
  kind: 'Relation',
  who: 'By',
  what: 'What was done',
}

const isNumber = (word: string | undefined): boolean => word !== undefined && /^\d+$/.test(word)

/** 'decimalSign' as words: 'Decimal sign'. */
function spelled(name: string): string {
  const words = name.replace(/([a-z])([A-Z])/g, (_, a: string, b: string) => `${a} ${b.toLowerCase()}`)
  return `${words.charAt(0).toUpperCase()}${words.slice(1)}`
}

const specIn = (fields: Fields, way: readonly string[]): FieldSpec | undefined =>
  fields.find(({ key }) => key === way.join('.'))

/** The field of a conversion's form; which relation it is does not matter to what its coefficients are called. */
const inConversion = (way: readonly string[]): FieldSpec | undefined =>
  Object.values(CONVERSION_FORMS)
    .map(({ fields }) => specIn(fields, way))
    .find((spec) => spec !== undefined)

/** A field by its way through a record: its own form's label, or its name spelled out. */
function ofWay(fields: Fields, way: readonly string[]): { label: string; spec?: FieldSpec | undefined } {
  const spec = specIn(fields, way)
  if (spec) return { label: spec.unit ? `${spec.label} / ${spec.unit}` : spec.label, spec }
  const [head, ...rest] = way
  if (head === undefined) return { label: '' }
  if (head === 'conversion' && rest.length > 0) {
    const own = inConversion(rest)
    return own ? { label: own.label, spec: own } : ofWay([], rest)
  }
  if (head === 'uncertainty' && rest.length > 0) return ofWay(UNCERTAINTY_FIELDS, rest)
  if (rest.length === 0) return { label: NAMES[head] ?? spelled(head) }
  if (isNumber(rest[0])) {
    const list = LISTS[head]?.one ?? (specIn(fields, [head])?.label || spelled(head))
    const inner = ofWay([], rest.slice(1))
    return { ...inner, label: `${list} ${rest[0]}${inner.label ? `: ${inner.label}` : ''}` }
  }
  const inner = ofWay([], rest)
  return { ...inner, label: `${spelled(head)}: ${inner.label}` }
}

export interface FieldWords {
  /** As the form calls it: 'Calibration 2: Recalibration due'. */
  readonly label: string
  /** A value of it as the form shows it, in the unit of the label. */
  show(value: string): string
}

/** What a field is called whose way through a record is told by words: 'calibrations 2 due'. */
export function fieldWords(kind: string, field: string): FieldWords {
  const way = field.split(' ')
  const [head, place, ...rest] = way
  const list = head === undefined ? undefined : LISTS[head]
  const inner =
    list && isNumber(place) && rest.length > 0
      ? ofWay(list.fields?.(kind) ?? [], rest)
      : ofWay(FORMS[kind as RecordKindName] ?? [], way)
  const { spec } = inner
  return {
    label: list && isNumber(place) && rest.length > 0 ? `${list.one} ${place}: ${inner.label}` : inner.label,
    show: (value) => {
      const choice = spec?.choices?.find(({ id }) => id === value)
      if (choice) return choice.name
      const number = Number(value)
      if (value.trim() === '' || Number.isNaN(number) || !spec || spec.type === 'text') return value
      return printed(spec.scale === undefined ? value : String(Number((number / spec.scale).toPrecision(12))))
    },
  }
}
