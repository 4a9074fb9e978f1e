import { evidenceOf } from '../../../app/checks/answer-check.ts'
import { checkByInterchange, checkByKnownRatios } from '../../../app/checks/bridge-check.ts'
import { type BridgeCurve, bridgeCurve } from '../../../app/checks/bridge-curve.ts'
import { type BridgeTerms, bridgeTerms } from '../../../app/checks/bridge-terms.ts'
import { allNetworks, type Network, networkWords } from '../../../app/checks/network.ts'
import { CheckRequest } from '../../../app/contract/check-request.ts'
import { inForce, type Resistor } from '../../../app/records/register.ts'
import { resistorValue } from '../../../app/thermometry/resistor.ts'
import type { Texts } from '../../parts/forms.ts'
import { readNumber } from '../../text/numbers.ts'
import type { Rows } from './checks.store.ts'

export type BridgePage = 'interchange' | 'networks' | 'ratios'
export type BridgeRequest = Extract<CheckRequest, { check: BridgePage }>

export interface RatioColumn {
  key: string
  label: string
  /** Words, not a number. */
  words?: boolean
  /** May be 0, or lie on either side of it. */
  least?: 'zero' | 'any'
}

export const RATIO_COLUMNS: Record<BridgePage, readonly RatioColumn[]> = {
  interchange: [
    { key: 'name', label: 'Pair', words: true },
    { key: 'ratio', label: 'n' },
    { key: 'u', label: 'u(n)' },
    { key: 'reciprocal', label: 'n′, interchanged' },
    { key: 'uReciprocal', label: 'u(n′)' },
  ],
  networks: [
    { key: 'name', label: 'Combination', words: true },
    { key: 'ratio', label: 'n' },
    { key: 'u', label: 'u(n)' },
  ],
  ratios: [
    { key: 'name', label: 'Pair', words: true },
    { key: 'ratio', label: 'n as shown', least: 'any' },
    { key: 'u', label: 'u(n)' },
    { key: 'known', label: 'n as known', least: 'zero' },
    { key: 'uKnown', label: 'u(known)', least: 'zero' },
  ],
}

/** Rows with something in them. */
export const filled = (rows: Rows): Rows =>
  rows.filter((row) => Object.values(row).some((text) => text.trim() !== ''))

/** Cells that were pasted, put into the rows from one cell on; rows are added as needed. */
export function withPasted(
  rows: Rows,
  columns: readonly RatioColumn[],
  at: { row: number; column: number },
  text: string,
): Rows {
  const lines = text.replace(/\r/g, '').replace(/\n$/, '').split('\n')
  const next = [...rows]
  for (const [i, line] of lines.entries()) {
    const row: Record<string, string> = { ...(next[at.row + i] ?? {}) }
    for (const [j, cell] of line.split('\t').entries()) {
      const column = columns[at.column + j]
      if (column) row[column.key] = cell.trim()
    }
    next[at.row + i] = row
  }
  return next.map((row) => row ?? {})
}

/** Texts put into the first row that has none of them yet, or into a row of their own; a name that stands there stays. */
export function withTaken(rows: Rows, taken: Texts): Rows {
  const keys = Object.keys(taken).filter((key) => key !== 'name')
  const at = rows.findIndex((row) => keys.every((key) => (row[key] ?? '').trim() === ''))
  if (at < 0) return [...rows, taken]
  return rows.map((row, i) => (i === at ? { ...taken, ...row, ...only(taken, keys) } : row))
}

const only = (texts: Texts, keys: readonly string[]): Texts =>
  Object.fromEntries(keys.map((key) => [key, texts[key] ?? '']))

/** The ratio of two resistors by their calibrations in force on a day; undefined where one of them has none. */
export function knownRatio(over: Resistor, under: Resistor, date: string): Texts | undefined {
  const [a, b] = [over, under].map((resistor) => {
    const calibration = inForce(resistor.calibrations, date)
    return calibration && resistorValue(calibration, resistor.keptAtC, date, resistor.uKeptAtK)
  })
  if (!a || !b) return undefined
  const known = a.ohm / b.ohm
  const u = known * Math.hypot(a.relativeUncertainty, b.relativeUncertainty)
  return { name: `${over.name} over ${under.name}`, known: known.toPrecision(12), uKnown: u.toPrecision(3) }
}

export interface ReadRows {
  rows: readonly (Record<string, number> & { name?: never })[]
  names: readonly string[]
  /** By row and key. */
  problems: Record<string, string>
}

/** The numbers of the rows; what cannot be read is named by its place, and what is empty is simply not there. */
export function readRows(given: Rows, columns: readonly RatioColumn[]): ReadRows {
  const problems: Record<string, string> = {}
  const names: string[] = []
  const rows = given.map((row: Texts, i) => {
    names.push(row.name?.trim() || `row ${i + 1}`)
    const numbers: Record<string, number> = {}
    for (const { key, words, least } of columns) {
      if (words) continue
      const value = readNumber(row[key] ?? '', { ppm: 1e-6, ppb: 1e-9 })
      if (value !== undefined && (value > 0 || least === 'any' || (least && value === 0)))
        numbers[key] = value
      else if ((row[key] ?? '').trim() !== '')
        problems[`${i} ${key}`] =
          least === 'any' ? 'A number' : least ? 'A number above 0, or 0' : 'A number above 0'
    }
    return numbers as Record<string, number> & { name?: never }
  })
  return { rows, names, problems }
}

type Writing = string | { series: Writing[] } | { parallel: Writing[] }

/** 'a + b', 'a || (b + c)' as a network; undefined where it is none. */
export function readNetwork(text: string): Network | undefined {
  const tokens = text.match(/\|\||[+()]|[^\s+()|]+/g) ?? []
  let at = 0
  const part = (): Network | undefined => {
    const token = tokens[at++]
    if (token === undefined || token === ')' || token === '+' || token === '||') return undefined
    if (token !== '(') return { kind: 'one', resistor: token }
    const inner = whole()
    return tokens[at++] === ')' ? inner : undefined
  }
  const whole = (): Network | undefined => {
    const first = part()
    if (!first) return undefined
    const sign = tokens[at]
    if (sign !== '+' && sign !== '||') return first
    const parts = [first]
    while (tokens[at] === sign) {
      at++
      const next = part()
      if (!next) return undefined
      parts.push(next)
    }
    return { kind: sign === '+' ? 'series' : 'parallel', parts }
  }
  const network = whole()
  return at === tokens.length ? network : undefined
}

const writingOf = (network: Network): Writing =>
  network.kind === 'one'
    ? network.resistor
    : network.kind === 'series'
      ? { series: network.parts.map(writingOf) }
      : { parallel: network.parts.map(writingOf) }

/** Empty rows for every combination of some resistors. */
export function rowsOfNetworks(names: readonly string[]): Rows {
  return allNetworks(names).map((network) => ({ name: networkWords(network) }))
}

export interface RatioDot {
  name: string
  ratio: number
  /** In ratio. */
  error: number
  expanded: number
  agrees: boolean
}

export interface BridgeResult {
  request: BridgeRequest | undefined
  dots: readonly RatioDot[]
  /** Error over the ratio with its uncertainty. */
  curve: BridgeCurve | undefined
  /** Powers of the ratio, of combinations. */
  terms: BridgeTerms | undefined
  problems: Record<string, string>
  /** Why there is no result yet, in words. */
  missing: string | undefined
}

/** What a table of ratios says of the bridge, or what it lacks. */
export function resultOfRows(
  page: BridgePage,
  rows: Rows,
  more: { instrument?: string; date?: string; due?: string; session?: string },
): BridgeResult {
  const given = filled(rows)
  const columns = RATIO_COLUMNS[page]
  const { rows: numbers, names, problems } = readRows(given, columns)
  const nothing = { request: undefined, dots: [], curve: undefined, terms: undefined }
  const whole = numbers.filter((row) => columns.every(({ key, words }) => words || row[key] !== undefined))
  if (given.length === 0)
    return {
      ...nothing,
      problems: {},
      missing: 'Type ratios into the table, paste them from a spreadsheet, or take them from a session.',
    }
  if (whole.length < given.length) return { ...nothing, problems, missing: 'Some cells hold no number yet.' }
  try {
    if (page === 'networks') return networksResult(numbers, names, more)
    const pairs = numbers.map((row, i) => ({ ...row, name: names[i]! }))
    const request = CheckRequest.parse({ check: page, ...more, pairs }) as BridgeRequest
    const curve = bridgeCurve(evidenceOf(request))
    return { request, dots: dotsOf(request), curve, terms: undefined, problems, missing: undefined }
  } catch (fault) {
    return { ...nothing, problems, missing: wordsOfFault(fault) }
  }
}

function networksResult(numbers: ReadRows['rows'], names: readonly string[], more: object): BridgeResult {
  const networks = names.map(readNetwork)
  const bad = networks.indexOf(undefined)
  const nothing = {
    request: undefined,
    dots: [],
    curve: undefined,
    terms: undefined,
    problems: {} as Record<string, string>,
  }
  if (bad >= 0)
    return {
      ...nothing,
      problems: { [`${bad} name`]: 'Such as a, a + b, or a || (b + c)' },
      missing: `“${names[bad]}” is no combination of resistors.`,
    }
  const readings = numbers.map((row, i) => ({ ...row, network: writingOf(networks[i]!) }))
  const request = CheckRequest.parse({ check: 'networks', ...more, readings }) as BridgeRequest
  const evidence = evidenceOf(request)
  const terms = bridgeTerms(evidence.networks)
  const curve = bridgeCurve(evidence)
  const dots = curve.checked.map(({ name, ratio, error, u }) => ({
    name,
    ratio,
    error,
    expanded: 2 * u,
    agrees: Math.abs(error) <= 2 * u,
  }))
  return { ...nothing, request, dots, curve, terms, missing: undefined }
}

function dotsOf(request: BridgeRequest): RatioDot[] {
  if (request.check === 'interchange') {
    return checkByInterchange(request.pairs).map(({ name, departure, expanded, agrees }, i) => ({
      name,
      ratio: request.pairs[i]!.ratio,
      error: departure,
      expanded,
      agrees,
    }))
  }
  if (request.check !== 'ratios') return []
  return checkByKnownRatios(request.pairs).map(({ name, error, expanded, agrees }, i) => ({
    name,
    ratio: request.pairs[i]!.ratio,
    error,
    expanded,
    agrees,
  }))
}

/** The verdict in words, before anything is said of budgets. */
export function verdictOf(page: BridgePage, { dots }: BridgeResult): string {
  const out = dots.filter(({ agrees }) => !agrees).map(({ name }) => name)
  if (page === 'networks') {
    return out.length === 0
      ? 'The combinations show no error beyond its uncertainty.'
      : `The bridge shows an error beyond its uncertainty at ${out.join(', ')}.`
  }
  const what = page === 'interchange' ? 'The product n n′ is 1' : 'What is shown agrees with what is known'
  return out.length === 0
    ? `${what} within the uncertainty for every pair.`
    : `${out.join(', ')}: ${page === 'interchange' ? 'the product departs from 1' : 'what is shown departs from what is known'} by more than the expanded uncertainty. Look at leads and connectors, and measure again.`
}

const wordsOfFault = (fault: unknown): string => {
  const issue = (fault as { issues?: { path: unknown[]; message: string }[] }).issues?.[0]
  if (issue) return `${issue.path.join(' ')}: ${issue.message}`
  return fault instanceof Error ? fault.message : String(fault)
}
