import { at, zip } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { inUnit, type Unit, unitOf } from './si.ts'
import { DccInError, down, named, readXml, textAt, walk, type XmlElement } from './xml-tree.ts'

/** One value of a certificate, and the place it came from. */
export interface ReadValue {
  readonly name: string
  readonly value: string
  readonly unit: string
  /** Where in the file: path of names and line. */
  readonly place: string
}

export interface ReadPoint {
  readonly celsius: string
  readonly signal: string
  readonly quantity: 'ohm' | 'volt' | 'celsius'
  /** Expanded uncertainty in the signal's unit, and k; null: not stated. */
  readonly expanded: string | null
  readonly k: string
}

export interface ReadCoefficient {
  readonly label: string
  readonly value: string
  /** Its SI unit as a person reads it; empty: a number. */
  readonly unit: string
  readonly line: number
}

/** What a digital certificate says that a register can hold, and what of it could not be read. */
export interface DccReading {
  readonly schemaVersion: string
  readonly number: string
  readonly date: string
  readonly laboratory: string
  readonly item: {
    readonly name: string
    readonly maker: string
    readonly model: string
    readonly serial: string
  }
  readonly values: readonly ReadValue[]
  readonly points: readonly ReadPoint[]
  readonly coefficients: readonly ReadCoefficient[]
  /** Covariance of the coefficients in their order, in SI units; null: not stated. */
  readonly covariance: readonly (readonly number[])[] | null
  /** Section of ITS-90 that the coefficients are of; null: they are of another relation, or it is not spoken. */
  readonly section: string | null
  /** U of a temperature found with the coefficients: degC, millikelvin, k. */
  readonly curve: readonly { readonly celsius: number; readonly expandedMk: number; readonly k: number }[]
  readonly lowC: number | null
  readonly highC: number | null
  /** Measuring current, mA, and whether the signals hold at zero current. */
  readonly currentMa: number | null
  readonly unread: readonly string[]
}

const words = (text: string): string[] => (text.trim() === '' ? [] : text.trim().split(/\s+/))

/** A text in English where it is in several languages, else its first. */
function spoken(element: XmlElement | undefined): string {
  if (!element) return ''
  const contents = named(element, 'content')
  return (contents.find((c) => c.attributes.lang === 'en') ?? contents[0])?.text.trim() ?? ''
}

interface RealList {
  readonly values: readonly string[]
  readonly unit: Unit
  readonly expanded: readonly string[] | null
  readonly k: readonly string[]
  readonly line: number
}

/** A list or a single value of D-SI, of schema 2.2.1 or before; null: it is none of these. */
function listOf(element: XmlElement): RealList | null {
  const single = element.name === 'real'
  const list = single ? '' : 'XMLList'
  const values = words(textAt(element, `value${list}`))
  const units = words(textAt(element, `unit${list}`))
  if (values.length === 0 || new Set(units).size !== 1) return null
  const first = (...names: string[]) => {
    const found = [...walk(element)].find((e) => names.includes(e.name))
    return found ? words(found.text) : []
  }
  const spread = (of: readonly string[]) => (of.length === 1 ? values.flatMap(() => of) : of)
  const expanded = spread(first(`valueExpandedMU${list}`, `uncertainty${list}`))
  const unit = unitOf(at(units, 0))
  return {
    values: values.map((text) => inUnit(text, unit)),
    unit,
    expanded: expanded.length === values.length ? expanded.map((text) => inUnit(text, unit)) : null,
    k: spread(first(`coverageFactor${list}`)),
    line: element.line,
  }
}

/** The values of a quantity; of a hybrid the one in degrees Celsius, else its first. */
function valuesOf(quantity: XmlElement): RealList | null {
  const lists = [...walk(quantity)]
    .filter((e) => e.name === 'realListXMLList' || e.name === 'real')
    .flatMap((e) => listOf(e) ?? [])
  return lists.find((l) => l.unit.quantity === 'celsius') ?? lists[0] ?? null
}

const toCelsius = (list: RealList): string[] | null => {
  if (list.unit.quantity === 'celsius') return [...list.values]
  if (list.unit.quantity === 'kelvin')
    return list.values.map((t) => String(Number((Number(t) - 273.15).toFixed(9))))
  return null
}

/** The quantities that stand in a place themselves, not in what is spoken about another. */
function* quantitiesOf(element: XmlElement): Generator<XmlElement> {
  for (const child of element.children) {
    if (child.name === 'quantity') yield child
    else if (child.name === 'data' || child.name === 'list') yield* quantitiesOf(child)
  }
}

const hasType = (element: XmlElement, type: string) =>
  (element.attributes.refType ?? '').split(' ').includes(type)

function pointsOf(result: XmlElement, unread: string[]): ReadPoint[] {
  const quantities = [...quantitiesOf(result)]
  const reference = quantities.find((q) => hasType(q, 'basic_referenceValue'))
  const measured = quantities.filter((q) => hasType(q, 'basic_measuredValue'))
  const celsius = reference && valuesOf(reference)
  const temperatures = celsius && toCelsius(celsius)
  if (!temperatures) return []
  const zero = quantities.find(
    (q) => q.attributes.refType === undefined && valuesOf(q)?.unit.quantity === 'ohm',
  )
  const own = zero ?? measured[0]
  const signal = own && valuesOf(own)
  if (!signal || signal.values.length !== temperatures.length) return []
  const { quantity } = signal.unit
  if (quantity !== 'ohm' && quantity !== 'volt' && quantity !== 'celsius') {
    unread.push(
      `line ${signal.line}: what was measured is neither a resistance, a voltage nor a temperature.`,
    )
    return []
  }
  return zip(temperatures, signal.values).map(([t, value], i) => ({
    celsius: t,
    signal: value,
    quantity,
    expanded: signal.expanded?.[i] ?? null,
    k: signal.k[i] ?? '2',
  }))
}

const SI_SIGNS: Partial<Record<Unit['quantity'], string>> = { ohm: 'Ω', volt: 'V', ampere: 'A', kelvin: 'K' }
const SUPERSCRIPTS = '⁰¹²³⁴⁵⁶⁷⁸⁹'

/** A coefficient's unit in the signs of the SI: 'Ω', '1/K²', 'V/K'. */
function unitWords({ quantity, kelvin }: Unit): string {
  const own = SI_SIGNS[quantity] ?? ''
  if (quantity === 'kelvin' || kelvin === 0) return own
  const size = Math.abs(kelvin)
  const power = `K${size === 1 ? '' : [...String(size)].map((digit) => SUPERSCRIPTS[Number(digit)]).join('')}`
  return kelvin < 0 ? `${own || '1'}/${power}` : own + power
}

function coefficientsOf(result: XmlElement): ReadCoefficient[] {
  return [...quantitiesOf(result)].flatMap((quantity) => {
    const real = down(quantity, 'real')
    const list = real && listOf(real)
    if (!real || !list) return []
    const label =
      textAt(real, 'label') ||
      spoken(down(quantity, 'name')) ||
      textAt(quantity, 'description', 'formula', 'latex')
    return [
      {
        label: label.replace(/[\s{}_$]/g, ''),
        value: at(list.values, 0),
        unit: unitWords(list.unit),
        line: real.line,
      },
    ]
  })
}

function covarianceOf(result: XmlElement): number[][] | null {
  const matrix = [...walk(result)].find((e) => e.name === 'covarianceMatrixXMLList')
  if (!matrix) return null
  return named(matrix, 'columnXMLList').map((column) =>
    named(column, 'covarianceXMLList').map((one) => Number(textAt(one, 'valueXMLList'))),
  )
}

/** U of a temperature over the range, as our certificates state it: an error estimated as zero, with its uncertainty. */
function curveOf(results: readonly XmlElement[]): DccReading['curve'] {
  for (const result of results) {
    const lists = [...quantitiesOf(result)].map((q) => valuesOf(q))
    const [first] = lists
    const celsius = first && toCelsius(first)
    const error = lists.find(
      (l) => l && l.unit.quantity === 'kelvin' && l.expanded && l.values.every((v) => Number(v) === 0),
    )
    if (!celsius || !error?.expanded || error.values.length !== celsius.length) continue
    const { expanded } = error
    return celsius.map((t, i) => ({
      celsius: Number(t),
      expandedMk: Number(expanded[i]) * 1e3,
      k: Number(error.k[i]),
    }))
  }
  return []
}

function rangeOf(root: XmlElement): readonly [number | null, number | null] {
  const end = (type: string) => {
    const found = [...walk(root)].find((e) => e.name === 'quantity' && hasType(e, type))
    const list = found && valuesOf(found)
    const celsius = list && toCelsius(list)
    return celsius ? Number(celsius[0]) : null
  }
  return [end('basic_validityRangeMin'), end('basic_validityRangeMax')]
}

function currentOf(root: XmlElement): number | null {
  const found = [...walk(root)].find((e) => e.name === 'influenceCondition' && hasType(e, 'gp_current'))
  const real = found && [...walk(found)].find((e) => e.name === 'real')
  const list = real && listOf(real)
  return list && list.unit.quantity === 'ampere' ? Number(list.values[0]) * 1e3 : null
}

/**
 * Reads a Digital Calibration Certificate of a thermometer or a resistor, schema 3.1 to 3.3: every value with the line it stands on, and
 * in words what could not be read. Nothing of it is run, fetched or trusted.
 *
 * Throws DccInError 'too-large' | 'hostile' | 'not-xml' | 'not-dcc'.
 */
export function readDcc(text: string): DccReading {
  const root = readXml(text)
  const core = down(root, 'administrativeData', 'coreData')
  const items = down(root, 'administrativeData', 'items')
  if (root.name !== 'digitalCalibrationCertificate' || !core || !items) {
    throw new DccInError('not-dcc', said('xml-no-dcc', { root: root.name }))
  }
  const unread: string[] = []

  const own = named(items, 'item')
  const item = own[0] ?? items
  if (own.length > 1) unread.push(`The certificate is of ${own.length} items; the first is read.`)
  const serial = [...walk(item)].find(
    (e) => e.name === 'identification' && textAt(e, 'issuer') === 'manufacturer',
  )
  const laboratory = spoken(down(root, 'administrativeData', 'calibrationLaboratory', 'contact', 'name'))
  const results = [...walk(root)].filter((e) => e.name === 'result')
  const ofCoefficients = results.find((r) => hasType(r, 'gp_coefficients'))
  const ofPoints = results.find((r) => hasType(r, 'gp_measuringResult1')) ?? results[0]
  const points = ofPoints ? pointsOf(ofPoints, unread) : []
  const coefficients = ofCoefficients ? coefficientsOf(ofCoefficients) : []
  const known = new Set([ofCoefficients, ofPoints])
  for (const result of results)
    if (!known.has(result) && curveOf([result]).length === 0)
      unread.push(`line ${result.line}: the result “${spoken(down(result, 'name'))}” is not read.`)
  if (points.length === 0) unread.push('No table of reference values and measured values could be read.')
  if (!ofCoefficients) unread.push('The certificate states no coefficients.')
  const [lowC, highC] = rangeOf(root)
  const date =
    textAt(core, 'issueDate') || textAt(core, 'endPerformanceDate') || textAt(core, 'beginPerformanceDate')
  const at = (name: string, value: string, element: XmlElement | undefined, unit = ''): ReadValue[] =>
    value === '' ? [] : [{ name, value, unit, place: element ? `line ${element.line}` : '' }]
  return {
    schemaVersion: root.attributes.schemaVersion ?? 'not stated',
    number: textAt(core, 'uniqueIdentifier'),
    date,
    laboratory,
    item: {
      name: spoken(down(item, 'name')),
      maker: spoken(down(item, 'manufacturer', 'name')),
      model: textAt(item, 'model'),
      serial: serial ? textAt(serial, 'value') : '',
    },
    values: [
      ...at('Certificate', textAt(core, 'uniqueIdentifier'), down(core, 'uniqueIdentifier')),
      ...at('Date', date, core),
      ...at('Laboratory', laboratory, down(root, 'administrativeData', 'calibrationLaboratory')),
      ...at('Serial number', serial ? textAt(serial, 'value') : '', serial),
      ...coefficients.flatMap(({ label, value, unit, line }): ReadValue[] => [
        { name: label, value, unit, place: `line ${line}` },
      ]),
      ...points.map(
        ({ celsius, signal, quantity, expanded }): ReadValue => ({
          name: `at ${celsius} °C`,
          value: expanded === null ? signal : `${signal} ± ${expanded}`,
          unit: { ohm: 'Ω', volt: 'V', celsius: '°C' }[quantity],
          place: ofPoints ? `line ${ofPoints.line}` : '',
        }),
      ),
    ],
    points,
    coefficients,
    covariance: ofCoefficients ? covarianceOf(ofCoefficients) : null,
    section:
      /\b3\.3\.[123](\.[1-5])?\b/.exec(textAt(ofCoefficients ?? root, 'description', 'content'))?.[0] ?? null,
    curve: curveOf(results),
    lowC,
    highC,
    currentMa: currentOf(root),
    unread,
  }
}
