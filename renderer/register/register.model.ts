import type { z } from 'zod'
import {
  implausibleCell,
  implausibleInstrument,
  implausibleResistor,
  implausibleThermometer,
} from '../../app/checks/implausible.ts'
import { Conversion } from '../../app/kinds/conversion.ts'
import type { ThermometerKind } from '../../app/kinds/kind.ts'
import { KINDS, type KindName } from '../../app/kinds/table.ts'
import { Bath } from '../../app/records/bath.ts'
import { Cell } from '../../app/records/cell.ts'
import {
  Fluid,
  InstrumentRecord,
  type Register,
  Resistor,
  Thermometer,
  type ThermometerCalibration,
} from '../../app/records/register.ts'
import { accuracyText, readAccuracy } from '../desk/accuracy.model.ts'
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
} from '../desk/record-fields.ts'
import { type FieldSpec, readForm, type Texts, textsOf } from '../parts/forms.ts'
import { issueWords } from '../text/issues.ts'
import { readNumber } from '../text/numbers.ts'
import type { Pasted } from './paste.model.ts'

export const SHELVES = [
  { id: 'thermometers', name: 'Thermometers', one: 'thermometer' },
  { id: 'resistors', name: 'Resistors', one: 'resistor' },
  { id: 'instruments', name: 'Instruments', one: 'instrument' },
  { id: 'cells', name: 'Cells', one: 'cell' },
  { id: 'baths', name: 'Baths', one: 'bath' },
  { id: 'fluids', name: 'Fluids', one: 'fluid' },
] as const
export type Shelf = (typeof SHELVES)[number]['id']
export type View = Shelf | 'checks' | 'charts' | 'due' | 'ledger' | 'station'

export type Entry = NonNullable<Register[Shelf]>[number]

export const SHELF_FIELDS: Record<Shelf, readonly FieldSpec[]> = {
  thermometers: THERMOMETER_FIELDS,
  resistors: RESISTOR_FIELDS,
  instruments: INSTRUMENT_FIELDS,
  cells: CELL_FIELDS,
  baths: BATH_FIELDS,
  fluids: FLUID_FIELDS,
}
/** The kind that a thermometer's form says; undefined for anything else. */
export const kindIn = (shelf: Shelf, texts: Texts): ThermometerKind | undefined =>
  shelf === 'thermometers' && (texts.kind ?? '') in KINDS ? KINDS[texts.kind as KindName] : undefined

const KIND_FIELDS: ReadonlySet<string> = new Set(Object.values(KINDS).flatMap(({ fields }) => fields))

/** The fields of a record's form: of those that only some kinds of thermometer have, its own kind's. */
export function fieldsOf(shelf: Shelf, texts: Texts): readonly FieldSpec[] {
  const kind = kindIn(shelf, texts)
  if (!kind) return SHELF_FIELDS[shelf]
  const own: readonly string[] = kind.fields
  return SHELF_FIELDS[shelf].filter(({ key }) => !KIND_FIELDS.has(key) || own.includes(key))
}

const SCHEMAS = {
  thermometers: Thermometer,
  resistors: Resistor,
  instruments: InstrumentRecord,
  cells: Cell,
  baths: Bath,
  fluids: Fluid,
} as const

/** A record being edited: its fields as text, and a further calibration where one is being entered. */
export interface EntryDraft {
  id: string
  texts: Texts
  /** What the form does not touch: earlier calibrations, WTP history, comparisons, checks, who calibrated it. */
  kept: Record<string, unknown>
  calibration: CalibrationDraft | undefined
}
export interface CalibrationDraft {
  texts: Texts
  kind: string
  coefficients: Texts
  uncertainty: Texts
}

const FRESH: Record<Shelf, Texts> = {
  thermometers: {
    kind: 'prt',
    currentMa: '1',
    nominalOhm: '100',
    lowC: '-50',
    highC: '250',
    fit: 'callendar-van-dusen',
  },
  resistors: { keptAtC: '23', uKeptAtK: '0.05', nominalOhm: '100' },
  instruments: { role: 'ratio-bridge' },
  cells: { fixedPoint: 'H2O', depthM: '0.25', uDepthM: '0.005', offsetMk: '0' },
  baths: {},
  fluids: { marginK: '20' },
}

export function draftOf(shelf: Shelf, entry: Entry | undefined, freshId: string): EntryDraft {
  if (!entry) return { id: freshId, texts: FRESH[shelf], kept: {}, calibration: undefined }
  const { id, ...rest } = entry
  const typed = new Set(SHELF_FIELDS[shelf].map(({ key }) => key.split('.')[0]))
  const kept = Object.fromEntries(Object.entries(rest).filter(([name]) => !typed.has(name)))
  const texts = textsOf(entry, SHELF_FIELDS[shelf])
  const accuracy = 'accuracy' in entry ? accuracyText(entry.accuracy) : ''
  return { id, texts: { ...texts, ...(accuracy && { accuracy }) }, kept, calibration: undefined }
}

export function newCalibration(shelf: Shelf, today: string, texts: Texts): CalibrationDraft {
  return {
    texts:
      shelf === 'resistors'
        ? { date: today, alphaPerK: '0', betaPerK2: '0', driftPerYear: '0', celsius: '23', k: '2' }
        : { date: today, lowC: '0', highC: '200' },
    kind: kindIn(shelf, texts)?.conversions[0] ?? 'callendar-van-dusen',
    coefficients: {},
    uncertainty: { k: '2' },
  }
}

export interface ReadEntry {
  entry: Entry | undefined
  /** By field; those of the calibration carry 'calibration.' before them. */
  problems: Record<string, string>
}

export function readEntry(shelf: Shelf, draft: EntryDraft): ReadEntry {
  const { record, problems } = readForm(draft.texts, fieldsOf(shelf, draft.texts))
  const whole: Record<string, unknown> = { id: draft.id, ...draft.kept, ...record }
  if (whole.name === '') problems.name = 'A name is needed'
  if (shelf === 'instruments') {
    delete whole.accuracy
    const read = readAccuracy(draft.texts.accuracy ?? '')
    if ('problem' in read) problems.accuracy = read.problem
    else if (read.accuracy.length > 0) whole.accuracy = read.accuracy
  }
  if (draft.calibration) {
    const read =
      shelf === 'resistors'
        ? readForm(draft.calibration.texts, RESISTOR_CALIBRATION_FIELDS)
        : readThermometerCalibration(draft.calibration)
    for (const [key, words] of Object.entries(read.problems)) problems[`calibration.${key}`] = words
    const earlier = (draft.kept.calibrations as unknown[] | undefined) ?? []
    whole.calibrations = [...earlier, { id: `cal-${earlier.length + 1}-${draft.id}`, ...read.record }]
  }
  if (Object.keys(problems).length > 0) return { entry: undefined, problems }
  const parsed = (SCHEMAS[shelf] as z.ZodType<Entry>).safeParse(whole)
  if (parsed.success) return { entry: parsed.data, problems }
  return { entry: undefined, problems: { whole: issueWords(parsed.error.issues[0], labelIn(shelf)) } }
}

/** The name that a field of a shelf's form carries, and what to do where one of a group is missing. */
const labelIn = (shelf: Shelf) => (path: readonly PropertyKey[]) => {
  const key = path.map(String).join('.')
  const field = SHELF_FIELDS[shelf].find((spec) => spec.key === key)
  if (!field) return undefined
  const [group, name] = field.label.includes(': ') ? field.label.split(': ') : [undefined, field.label]
  const label = `${name!.charAt(0).toUpperCase()}${name!.slice(1)}`
  return { label, ...(group && { orElse: `empty the other ${group.toLowerCase()} fields` }) }
}

function readThermometerCalibration(draft: CalibrationDraft): {
  record: Record<string, unknown>
  problems: Record<string, string>
} {
  const base = readForm(draft.texts, CALIBRATION_FIELDS)
  const form = CONVERSION_FORMS[draft.kind]
  const coefficients = readForm(draft.coefficients, form?.fields ?? [])
  const problems = { ...base.problems, ...coefficients.problems }
  const conversion: Record<string, unknown> = { kind: draft.kind, ...coefficients.record }
  for (const set of [conversion, conversion.joined as Record<string, unknown> | undefined]) {
    if (!set || set.covariance === undefined) continue
    const matrix = set.covariance as number[][]
    const names = coefficientsOf(set)
    if (matrix.length === names.length) set.covariance = { names, matrix }
    else
      problems[set === conversion ? 'covariance' : 'joined.covariance'] =
        `${names.length} rows are needed, for ${names.join(', ')}; there are ${matrix.length}.`
  }
  if (draft.kind === 'its90') {
    conversion.coefficients ??= {}
    const joined = conversion.joined as Record<string, unknown> | undefined
    if (joined) joined.coefficients ??= {}
  }
  if (Object.keys(problems).length === 0) {
    const parsed = Conversion.safeParse(conversion)
    if (!parsed.success)
      problems.conversion = issueWords(parsed.error.issues[0], (path) => {
        const field = form?.fields.find(({ key }) => key === path.map(String).join('.'))
        return field && { label: field.label }
      })
  }
  const record: Record<string, unknown> = { ...base.record, conversion }
  const points = readUncertainty(draft.uncertainty.points ?? '')
  if (points === undefined)
    problems.points = 'One line for each: temperature in °C, a space, uncertainty in mK'
  else if (points.length > 0) {
    const k = readNumber(draft.uncertainty.k ?? '')
    if (k === undefined || k <= 0) problems.k = 'A number above 0'
    record.uncertainty = { k, points }
  }
  return { record, problems }
}

/** Coefficients of a typed conversion by the names that its covariance has, in the order of the form. */
function coefficientsOf(set: Readonly<Record<string, unknown>>): string[] {
  const { coefficients } = set
  return typeof coefficients === 'object' && coefficients !== null
    ? Object.keys(coefficients)
    : Object.keys(set).filter((key) => ['r0', 't0', 'a', 'b', 'c', 'beta'].includes(key))
}

function readUncertainty(text: string): { celsius: number; expandedMk: number }[] | undefined {
  const lines = text
    .split('\n')
    .map((line) => line.trim())
    .filter(Boolean)
  const points = lines.map((line) => {
    const [a = '', b = ''] = line.split(/\s+|;|\t/)
    return { celsius: readNumber(a) ?? Number.NaN, expandedMk: readNumber(b) ?? Number.NaN }
  })
  return points.every((p) => Number.isFinite(p.celsius) && Number.isFinite(p.expandedMk)) ? points : undefined
}

export { CALIBRATION_FIELDS, RESISTOR_CALIBRATION_FIELDS, UNCERTAINTY_FIELDS }

/** A conversion's coefficients as lines to read. */
export function coefficientLines(
  conversion: ThermometerCalibration['conversion'],
): { name: string; value: string }[] {
  const lines: { name: string; value: string }[] = []
  const walk = (value: unknown, name: string) => {
    if (value === undefined) return
    if (Array.isArray(value)) for (const [i, v] of value.entries()) walk(v, `${name} ${i}`)
    else if (typeof value === 'object' && value !== null)
      for (const [key, v] of Object.entries(value))
        walk(v, name === '' || name === 'coefficients' ? key : `${name} ${key}`)
    else lines.push({ name, value: String(value) })
  }
  const { kind: _kind, ...rest } = conversion
  const { covariance: _covariance, ...shown } = rest as Record<string, unknown>
  for (const [key, value] of Object.entries(shown)) walk(value, key === 'coefficients' ? '' : key)
  return lines
}

/** What of a record is hardly ever so, as questions. */
export function questionsOf(shelf: Shelf, entry: Entry): string[] {
  switch (shelf) {
    case 'thermometers':
      return implausibleThermometer(entry as Thermometer)
    case 'resistors':
      return implausibleResistor(entry as Resistor)
    case 'instruments':
      return implausibleInstrument(entry as InstrumentRecord)
    case 'cells':
      return implausibleCell(entry as Cell)
    case 'baths':
    case 'fluids':
      return []
  }
}

/** Problems of what was typed; what is merely missing waits until somebody wants to save. */
export const problemsToShow = (
  problems: Readonly<Record<string, string>>,
  tried: boolean,
): Record<string, string> =>
  Object.fromEntries(Object.entries(problems).filter(([, words]) => tried || !MISSING.test(words)))
const MISSING = /^(This|A name) is needed$|^\S.* is missing/

/** A calibration being typed, with what was found in a pasted text; what it says nothing of stays as it is. */
export function withPasted(draft: CalibrationDraft, { found, kind }: Pasted): CalibrationDraft {
  const part = (name: string): Texts =>
    Object.fromEntries(
      found.flatMap(({ field, text }) =>
        field.startsWith(`${name}.`) ? [[field.slice(name.length + 1), text]] : [],
      ),
    )
  const same = kind === undefined || kind === draft.kind
  return {
    kind: kind ?? draft.kind,
    texts: { ...draft.texts, ...part('texts') },
    coefficients: { ...(same ? draft.coefficients : {}), ...(kind ? part('coefficients') : {}) },
    uncertainty: { ...draft.uncertainty, ...part('uncertainty') },
  }
}
