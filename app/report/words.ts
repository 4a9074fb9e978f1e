import { needed } from '../base/lists.ts'
import type { SignerStatements } from '../records/certificate.ts'
import type { PointCorrelation } from '../results/uncertainty-template.ts'

interface ModelWords {
  readonly name: string
  readonly equation: string
  readonly source: string
}

/** What each fitted relation is, as an equation in one line, with its source. */
export const MODEL_WORDS: Readonly<Record<string, ModelWords>> = {
  its90: {
    name: 'ITS-90 deviation function',
    equation: 'W(t90) − Wr(t90) = deviation(W), W = R(t90)/R(0.01 °C)',
    source: 'ITS-90, section 3.3',
  },
  'callendar-van-dusen': {
    name: 'Callendar-Van Dusen relation',
    equation: 'R = R0 [1 + A t + B t² + C (t − 100 °C) t³], the last term below 0 °C only',
    source: 'form of IEC 60751, clause 4.2',
  },
  'steinhart-hart': {
    name: 'Steinhart-Hart equation',
    equation: '1/T = A0 + A1 ln(R/Ω) + A3 [ln(R/Ω)]³, T in K',
    source: 'Steinhart and Hart, Deep-Sea Research 15 (1968) 497',
  },
  thermocouple: {
    name: 'Deviation from the reference function of the type',
    equation: 'E(t90) = E_ref(t90) + sum of d(i) (t90/°C)^i, E in mV with the reference junction at 0 °C',
    source: 'reference functions of IEC 60584-1; the deviation as a polynomial is common practice, no source',
  },
  polynomial: {
    name: 'Polynomial in the signal',
    equation: 't90/°C = sum of c(i) x^i, x the signal in Ω or mV',
    source: 'common practice, no source',
  },
  none: { name: 'none', equation: 'none', source: 'none' },
}

/** The deviation function of a subrange, written out. */
export function deviationEquation(section: string): string {
  const powers = (...names: string[]) =>
    names.map((name, i) => `${name} (W − 1)${['', '²', '³'][i] ?? ''}`).join(' + ')
  switch (section) {
    case '3.3.2':
      return `W − Wr = ${powers('a', 'b', 'c')} + d [W − W(660.323 °C)]²`
    case '3.3.2.1':
      return `W − Wr = ${powers('a', 'b', 'c')}`
    case '3.3.2.2':
    case '3.3.2.3':
    case '3.3.3':
      return `W − Wr = ${powers('a', 'b')}`
    case '3.3.2.4':
    case '3.3.2.5':
      return `W − Wr = ${powers('a')}`
    case '3.3.1.3':
      return 'W − Wr = a (W − 1) + b (W − 1) ln W'
    default:
      return 'W − Wr as in table 4 of ITS-90'
  }
}

/** What a fitted relation is. */
export const wordsOfModel = (model: string): ModelWords => needed(MODEL_WORDS[model], `relation ${model}`)

/** A coefficient's name as it is printed. */
export function coefficientName(model: string, name: string): string {
  if (name === 'rWtp') return 'R(0.01 °C)'
  if (name === 'r0') return 'R0'
  if (model === 'callendar-van-dusen') return name.toUpperCase()
  if (model === 'steinhart-hart') return `A${name}`
  if (model === 'thermocouple') return `d${name}`
  if (model === 'polynomial') return `c${name}`
  return name.replace('joined.', 'above 0.01 °C: ')
}

/** What every report that comes from a moved bath says; local codes and licensed practice come first. */
export const SAFETY_WORDS =
  'The station that recorded these readings moved a bath. It is not a safety device: an independent over-temperature ' +
  'cut-out belongs on the bath, and local codes and licensed practice come first.'

/** Said where the register has no cautions of the fluid's own. */
export const HAZARD_WORDS =
  'Hot oil burns and can ignite; cryogens freeze and displace air; mercury and some fluids are toxic.'

export const UNCERTAINTY_WORDS = (percent: string): string =>
  'The expanded uncertainty U is the standard uncertainty multiplied by the coverage factor k, taken from the ' +
  't-distribution with the effective degrees of freedom, so that the interval from y − U to y + U has a coverage ' +
  `probability of ${percent} %. The standard uncertainty was evaluated after JCGM 100:2008 and compared with the propagation of ` +
  'distributions after JCGM 101:2008. It holds at the time of the calibration and contains no allowance for later drift.'

export const ITEMS_WORDS =
  'The results relate only to the items calibrated, in the condition in which they were received.'

/** ISO/IEC 17025:2017, 7.8.2.2: what comes from the customer is to be told from what is the laboratory's. */
export const CUSTOMER_WORDS =
  'The customer’s name and address and the names of the items are as the customer gave them; everything else is the laboratory’s.'

/** What the signer of a report answers; ISO/IEC 17025:2017, 7.8.2.1 n) and p), 7.8.2.2, 7.8.4.1 d), 7.8.7. */
export const STATEMENT_WORDS: Readonly<Record<keyof SignerStatements, string>> = {
  deviations: 'Deviations from the method',
  externalProviders: 'Results of external providers',
  adjustment: 'Adjustment or repair',
  opinions: 'Opinions and interpretations',
  customerSupplied: 'Supplied by the customer',
}

export const REPRODUCTION_WORDS =
  'This document may be reproduced only in full, unless the laboratory has agreed in writing.'

const countries = new Intl.DisplayNames(['en'], { type: 'region', fallback: 'none' })

/** The line of an address that names the country; none where the code names none. */
export function countryLine(code: string): string[] {
  const known = /^[A-Z]{2}$/.test(code) && !USER_ASSIGNED.test(code) ? countries.of(code) : undefined
  return known === undefined ? [] : [known]
}

/** Codes that ISO 3166-1 leaves to users name no country. */
const USER_ASSIGNED = /^(AA|Q[M-Z]|X[A-Z]|ZZ)$/

/** A point by its number alone: 'p3' and 'point-3' are 3; a cell's measurement keeps its name. */
export const pointLabel = (id: string): string => id.replace(/^(?:p|point-)(?=\d)/, '').replaceAll('-', ' ')

/** A point with what a person called it, where its name does not say so already: '6 (again)', '1 exchanged'. */
export const pointAndLabel = ({ point, label }: { point: string; label: string | null }): string => {
  const name = pointLabel(point)
  return label && !name.endsWith(label) ? `${name} (${label})` : name
}

/** How errors at two points hang together. */
export const BETWEEN_POINTS: Readonly<Record<PointCorrelation['kind'], string>> = {
  smooth: 'decreasing with distance',
  common: 'full',
  independent: 'none',
}

/** A coverage probability in per cent; 0.9545 stands for exactly two standard deviations and keeps its digits. */
export const percentOf = (probability: number): string => String(Number((probability * 100).toFixed(2)))
