import { DOMParser, type Element } from '@xmldom/xmldom'
import functions from '../../../../app/validation/figures/its90-reference-functions.json' with {
  type: 'json',
}

/**
 * A reader of digital certificates that shares no line with the program: from the XML alone it computes the signal and the
 * expanded uncertainty at any temperature of the range, with formulas of its own.
 */
export interface ReadCertificate {
  readonly labels: readonly string[]
  readonly values: readonly number[]
  readonly covariance: readonly (readonly number[])[]
  readonly heldC: number
  /** The relation as the certificate states it at its temperatures. */
  readonly range: readonly {
    readonly celsius: number
    readonly signal: string
    readonly expanded: string
    readonly beyondK: number
    readonly freedom: number
  }[]
  readonly probability: number
}

const DCC = 'https://ptb.de/dcc'
const SI = 'https://ptb.de/si'

const all = (from: Element, space: string, name: string): Element[] =>
  Array.from(from.getElementsByTagNameNS(space, name))
const textOf = (from: Element, space: string, name: string): string =>
  (all(from, space, name)[0]?.textContent ?? '').trim()
const words = (text: string) => text.split(/\s+/)

export function readCertificate(xml: string): ReadCertificate {
  const root = new DOMParser().parseFromString(xml, 'text/xml').documentElement!
  const results = all(root, DCC, 'result')
  const coefficients = results.find((r) => r.getAttribute('refType') === 'gp_coefficients')!
  const lists = all(coefficients, SI, 'realListXMLList')
  const own = lists.find((l) => all(l, SI, 'covarianceMatrixXMLList').length > 0)!
  const held = all(coefficients, SI, 'real').find((r) => textOf(r, SI, 'label') === 'C')
  const relation = results[results.indexOf(coefficients) + 1]!
  const quantities = all(relation, DCC, 'quantity')
  const column = (i: number) => words(textOf(quantities[i]!, SI, 'valueXMLList'))
  const celsius = words(all(quantities[0]!, SI, 'valueXMLList')[1]!.textContent!.trim())
  const [signal, beyond, freedom] = [column(1), column(3), column(4)]
  const expanded = words(textOf(quantities[2]!, SI, 'valueExpandedMUXMLList'))
  return {
    labels: words(textOf(own, SI, 'labelXMLList')),
    values: words(all(own, SI, 'valueXMLList')[0]!.textContent!.trim()).map(Number),
    covariance: all(own, SI, 'columnXMLList').map((c) =>
      all(c, SI, 'valueXMLList').map((v) => Number(v.textContent)),
    ),
    heldC: held ? Number(textOf(held, SI, 'value')) : 0,
    range: celsius.map((t, i) => ({
      celsius: Number(t),
      signal: signal[i]!,
      expanded: expanded[i]!,
      beyondK: Number(beyond[i]),
      freedom: Number(freedom[i]),
    })),
    probability: Number(textOf(quantities[2]!, SI, 'coverageProbabilityXMLList')),
  }
}

/** Reference function of ITS-90 from 273.15 K up: equation (10a). */
function wr(celsius: number): number {
  const c = functions.functions.find((f) => f.equation === '10a')!.coefficients
  const x = (celsius + 273.15 - 754.15) / 481
  return c.reduce((sum, value, i) => sum + value * x ** i, 0)
}

const at = (read: ReadCertificate, values: readonly number[], label: string) => {
  const i = read.labels.indexOf(label)
  return i < 0 ? 0 : values[i]!
}

/** Root of a rising or falling function between two bounds, by halving. */
function root(f: (x: number) => number, low: number, high: number): number {
  let [a, b] = [low, high]
  const sign = Math.sign(f(a))
  for (let i = 0; i < 200; i++) {
    const middle = (a + b) / 2
    if (Math.sign(f(middle)) === sign) a = middle
    else b = middle
  }
  return (a + b) / 2
}

/** Signal at a temperature for coefficients as they stand, by the relation that their names tell. */
export function signalAt(read: ReadCertificate, t: number, values: readonly number[] = read.values): number {
  const of = (label: string) => at(read, values, label)
  if (read.labels.includes('R0')) {
    const c = read.labels.includes('C') ? of('C') : read.heldC
    return of('R0') * (1 + of('A') * t + of('B') * t * t + (t < 0 ? c * (t - 100) * t ** 3 : 0))
  }
  if (read.labels.includes('A0')) {
    const temperature = (ohm: number) => {
      const l = Math.log(ohm)
      return 1 / (of('A0') + of('A1') * l + of('A3') * l ** 3) - 273.15
    }
    return Math.exp(root((x) => temperature(Math.exp(x)) - t, Math.log(1), Math.log(1e7)))
  }
  const deviation = (w: number) => of('a') * (w - 1) + of('b') * (w - 1) ** 2 + of('c') * (w - 1) ** 3
  return of('R(0.01°C)') * root((w) => w - deviation(w) - wr(t), 0.5, 3)
}

/** Standard uncertainty of a temperature found with the coefficients, kelvin. */
export function standardAt(read: ReadCertificate, t: number, beyondK: number): number {
  const slope = (signalAt(read, t + 1e-3) - signalAt(read, t - 1e-3)) / 2e-3
  const gradient = read.values.map((value, i) => {
    const step = Math.max(Math.abs(value), 1e-12) * 1e-6
    const moved = (by: number) => read.values.with(i, value + by)
    return (signalAt(read, t, moved(step)) - signalAt(read, t, moved(-step))) / (2 * step) / slope
  })
  let variance = beyondK * beyondK
  for (let i = 0; i < gradient.length; i++)
    for (let j = 0; j < gradient.length; j++)
      variance += gradient[i]! * gradient[j]! * read.covariance[i]![j]!
  return Math.sqrt(variance)
}

const logGamma = (x: number): number => {
  // Stirling's series for large x, lifted by the recurrence.
  let [y, shift] = [x, 0]
  while (y < 12) shift -= Math.log(y++)
  const i = 1 / (y * y)
  return (
    shift +
    (y - 0.5) * Math.log(y) -
    y +
    0.5 * Math.log(2 * Math.PI) +
    (1 / (12 * y)) * (1 - i * (1 / 30 - i * (1 / 105 - i / 140)))
  )
}

/** k of Student's distribution for whole degrees of freedom; 0.9545 means exactly two standard deviations of a normal one. */
export function coverage(freedom: number, probability: number): number {
  const n = Math.floor(freedom + 1e-9)
  const p = probability === 0.9545 ? 0.954499736103642 : probability
  const density = (x: number) =>
    Math.exp(logGamma((n + 1) / 2) - logGamma(n / 2) - ((n + 1) / 2) * Math.log1p((x * x) / n)) /
    Math.sqrt(n * Math.PI)
  const inside = (k: number) => {
    const steps = 2000
    const h = k / steps
    let sum = density(0) + density(k)
    for (let i = 1; i < steps; i++) sum += density(i * h) * (i % 2 === 1 ? 4 : 2)
    return (2 * sum * h) / 3
  }
  return root((k) => inside(k) - p, 0.5, 60)
}
