import { valueOfPlateau } from '../../../app/checks/answer-check.ts'
import { readSequence, type SequenceState, sequenceState } from '../../../app/checks/cell-sequence.ts'
import { withFixedPoints } from '../../../app/checks/check-record.ts'
import {
  calibrateByFixedPoints,
  type FixedPointCalibration,
} from '../../../app/checks/fixed-point-calibration.ts'
import { checkThermometer, type RegisterFinding } from '../../../app/checks/register-check.ts'
import type { FixedPointsRequest } from '../../../app/contract/check-request.ts'
import { CheckRequest } from '../../../app/contract/check-request.ts'
import type { CellSaid } from '../../../app/contract/checks.ts'
import type { Thermometer } from '../../../app/records/register.ts'
import { FIXED_POINTS, type FixedPointName, fixedPoint } from '../../../app/thermometry/fixed-points.ts'
import type { Texts } from '../../parts/forms.ts'
import { readNumber } from '../../text/numbers.ts'
import type { SetPlateau } from './checks.store.ts'

export const cellName = (name: string): string => (name === 'H2O' ? 'WTP' : name)

/** Cells by name, those of daily work first. */
export const CELL_CHOICES = [
  ...['H2O', 'Ga', 'In', 'Sn', 'Zn', 'Al', 'Ag', 'Hg', 'Ar'].map((name) => fixedPoint(name)),
  ...FIXED_POINTS.filter(({ name }) => ['e-H2', 'Ne', 'O2'].includes(name)),
].map(({ name, substance, kind, kelvin }) => ({
  id: name,
  name: `${cellName(name)}, ${substance}, ${(kelvin - 273.15).toFixed(3)} °C`,
  about: `${kind} point`,
}))

export type HeatingChoice = 'session' | 'register' | 'typed'

export interface CellDraft {
  session: string
  channel: string
  fixedPoint: FixedPointName
  /** Register id of the cell, where it is one of the register's. */
  cell?: string | undefined
  texts: Texts
  heating: HeatingChoice
  used: { fromUtcUs: number; toUtcUs: number } | null
}

export const CELL_FIELDS = [
  {
    key: 'depth',
    label: 'Depth of the element',
    unit: 'mm',
    units: { mm: 1, cm: 10, m: 1000 },
    about: 'Middle of the element below the surface.',
  },
  {
    key: 'uDepth',
    label: 'Standard uncertainty of the depth',
    unit: 'mm',
    units: { mm: 1, cm: 10, m: 1000 },
  },
  {
    key: 'pressure',
    label: 'Pressure in the cell',
    unit: 'kPa',
    units: { kPa: 1, Pa: 1e-3, hPa: 0.1, mbar: 0.1 },
    about: 'Left empty: 101.325 kPa. Of no account at a triple point.',
  },
  {
    key: 'uPressure',
    label: 'Standard uncertainty of the pressure',
    unit: 'kPa',
    units: { kPa: 1, Pa: 1e-3, hPa: 0.1, mbar: 0.1 },
  },
  {
    key: 'uCell',
    label: 'Standard uncertainty of the cell',
    unit: 'mK',
    units: { mK: 1, K: 1000, µK: 1e-3 },
    about: 'Impurities and isotopes, from its certificate or a comparison of cells.',
  },
  {
    key: 'uFlux',
    label: 'Standard uncertainty for heat along the stem',
    unit: 'mK',
    units: { mK: 1, K: 1000, µK: 1e-3 },
  },
] as const

export const HEATING_FIELDS = [
  { key: 'heat', label: 'Self-heating', unit: 'mK', units: { mK: 1, K: 1000, µK: 1e-3 } },
  {
    key: 'uHeat',
    label: 'Standard uncertainty of the self-heating',
    unit: 'mK',
    units: { mK: 1, K: 1000, µK: 1e-3 },
  },
] as const

/** What the fields say, and which of them cannot be read. */
export function readCell(draft: CellDraft): { said: CellSaid; problems: Record<string, string> } {
  const problems: Record<string, string> = {}
  const read = ({
    key,
    unit,
    units,
  }: {
    key: string
    unit: string
    units: Readonly<Record<string, number>>
  }) => {
    const text = draft.texts[key]?.trim() ?? ''
    if (text === '') return undefined
    const value = readNumber(text, units)
    if (value === undefined || value < 0) problems[key] = `A number of ${unit}, not below 0`
    return value
  }
  const values = Object.fromEntries(CELL_FIELDS.map((field) => [field.key, read(field)]))
  const heat = draft.heating === 'typed' ? HEATING_FIELDS.map(read) : []
  const scaled = (key: string, factor: number) =>
    values[key] === undefined || key in problems ? undefined : values[key] * factor
  const numbers = {
    depthM: scaled('depth', 1e-3),
    uDepthM: scaled('uDepth', 1e-3),
    pressurePa: scaled('pressure', 1e3),
    uPressurePa: scaled('uPressure', 1e3),
    uCellMk: scaled('uCell', 1),
    uHeatFluxMk: scaled('uFlux', 1),
  }
  const said: CellSaid = {
    fixedPoint: draft.fixedPoint,
    ...(draft.cell !== undefined && { cell: draft.cell }),
  }
  for (const [key, value] of Object.entries(numbers))
    if (value !== undefined) Object.assign(said, { [key]: value })
  if (draft.heating === 'register') said.withoutPair = true
  if (draft.heating === 'typed' && heat[0] !== undefined && Object.keys(problems).length === 0)
    said.selfHeating = { mk: heat[0], uMk: heat[1] ?? 0 }
  if (draft.used) said.used = draft.used
  return { said, problems }
}

/** R at 0.01 °C from the water plateaus of a set, for W of the others; undefined where it has none. */
export function setRWtp(set: readonly SetPlateau[]): number | undefined {
  const water = set.filter(({ fixedPoint: name }) => name === 'H2O').map(({ found }) => found)
  if (water.length === 0) return undefined
  const at = water.map(({ ohm, t90C, ohmPerKelvin }) => ohm - ohmPerKelvin * (t90C - 0.01))
  return at.reduce((sum, v) => sum + v, 0) / at.length
}

export interface SetResult {
  calibration: FixedPointCalibration | undefined
  /** Why there is none yet, in words. */
  missing: string | undefined
}

/** The coefficients that a set makes, or what it lacks. */
export function resultOfSet(set: readonly SetPlateau[], subrange: string | undefined): SetResult {
  const refuse = (missing: string): SetResult => ({ calibration: undefined, missing })
  const thermometers = new Set(set.map(({ thermometer }) => thermometer))
  if (set.length === 0) return refuse('No plateau is in the set yet.')
  if (thermometers.size > 1)
    return refuse('The plateaus are of different thermometers. Take out those that do not belong together.')
  if (!set.some((p) => p.fixedPoint === 'H2O'))
    return refuse('The water triple point is missing: W is a ratio to it.')
  if (set.every((p) => p.fixedPoint === 'H2O')) return refuse('A plateau of another cell is missing.')
  try {
    const request = requestOf(set, { subrange })
    const calibration = calibrateByFixedPoints(request.plateaus.map(valueOfPlateau), 0.9545, subrange)
    return { calibration, missing: undefined }
  } catch (fault) {
    return refuse(fault instanceof Error ? fault.message : String(fault))
  }
}

/** The request that records a set. Throws where it is not whole. */
export function requestOf(
  set: readonly SetPlateau[],
  more: Partial<
    Pick<
      FixedPointsRequest,
      'thermometer' | 'date' | 'due' | 'certificate' | 'laboratory' | 'note' | 'session' | 'subrange'
    >
  >,
): FixedPointsRequest {
  const given = Object.fromEntries(
    Object.entries(more).filter(([, value]) => value !== undefined && value !== ''),
  )
  const parsed = CheckRequest.parse({
    check: 'fixed-points',
    plateaus: set.map(({ found, cell }) => ({
      ...found.request,
      ...(cell !== undefined && { cell }),
      utc: new Date((found.used.fromUtcUs + found.used.toUtcUs) / 2000).toISOString(),
    })),
    ...given,
  })
  return parsed as FixedPointsRequest
}

/** Where a set came from, for the note of the entry: every number leads back to its session. */
export function noteOfSet(set: readonly SetPlateau[]): string {
  return `Plateaus: ${set
    .map(
      ({ fixedPoint: name, session, channel, found }) =>
        `${cellName(name)} in session ${session}, channel ${channel}, readings ${found.used.firstSeq} to ${found.used.lastSeq}`,
    )
    .join('; ')}.`
}

/** ITS-90, section 3.3: a thermometer of the scale has at least this W at gallium, or at most this at mercury. */
const W_GALLIUM = 1.11807
const W_MERCURY = 0.844235

/** What the coefficients must agree with, each with whether they do. */
export function findingsOf(
  calibration: FixedPointCalibration,
  thermometer: Thermometer | undefined,
  request: FixedPointsRequest,
  today: string,
): { severity: 'fine' | RegisterFinding['severity']; words: string }[] {
  const { rWtp, prepared, points } = calibration
  const highest = Math.max(...points.map((p) => p.t90C))
  const lowest = Math.min(...points.map((p) => p.t90C))
  const findings: { severity: 'fine' | RegisterFinding['severity']; words: string }[] = []
  const judge = (celsius: number, name: string, limit: number, least: boolean) => {
    const w = prepared.toSignal(celsius).value / rWtp
    const good = least ? w >= limit : w <= limit
    findings.push({
      severity: good ? 'fine' : 'error',
      words: `W at ${name} is ${w.toFixed(8)}; ITS-90 asks for ${least ? 'at least' : 'at most'} ${limit}.${good ? '' : ' ITS-90 criterion not met. Check strain, leakage, coefficients.'}`,
    })
  }
  if (highest >= 29.7) judge(29.7646, 'gallium', W_GALLIUM, true)
  if (lowest <= -38.8) judge(-38.8344, 'mercury', W_MERCURY, false)
  for (const { fixedPoint: name, residualMk } of points) {
    const value = request.plateaus.find((p) => p.fixedPoint === name)
    const u = value ? valueOfPlateau(value).uMk : 0
    if (Math.abs(residualMk) > 2 * u && u > 0)
      findings.push({
        severity: 'warning',
        words: `${cellName(name)} lies ${residualMk.toFixed(2)} mK from the coefficients, beyond its expanded uncertainty of ${(2 * u).toFixed(2)} mK. Measure it again.`,
      })
  }
  if (thermometer) {
    const { entry } = withFixedPoints(thermometer, request, today)
    const newest = { ...entry, calibrations: entry.calibrations.slice(-1) }
    findings.push(...checkThermometer(newest).filter(({ severity }) => severity !== 'note'))
  }
  return findings
}

const STEPS = 60

/** Expanded uncertainty (k = 2) over the range of a calibration, mK. */
export function bandOf(calibration: FixedPointCalibration): { celsius: number; expandedMk: number }[] {
  const celsius = [0.01, ...calibration.points.map((p) => p.t90C)]
  const [low, high] = [Math.min(...celsius), Math.max(...celsius)]
  return Array.from({ length: STEPS + 1 }, (_, i) => {
    const at = low + ((high - low) * i) / STEPS
    return { celsius: at, expandedMk: 2000 * calibration.uncertaintyK(at) }
  })
}

/** Where a sequence stands with the plateaus of the set; the problem where its text is none. */
export function sequenceOf(
  text: string,
  set: readonly SetPlateau[],
): { state: SequenceState | undefined; problem: string | undefined } {
  if (text.trim() === '') return { state: undefined, problem: undefined }
  try {
    const taken = set.map(({ fixedPoint: name, found }) => ({
      fixedPoint: name as FixedPointName,
      utcMs: (found.used.fromUtcUs + found.used.toUtcUs) / 2000,
      ohm: found.ohm,
      ownUMk: Math.hypot(...found.components.filter((c) => OWN.has(c.name)).map((c) => c.uMk)),
    }))
    return { state: sequenceState(readSequence(text), taken), problem: undefined }
  } catch (fault) {
    return { state: undefined, problem: fault instanceof Error ? fault.message : String(fault) }
  }
}

/** What two plateaus of one cell do not share. */
const OWN: ReadonlySet<string> = new Set([
  'Repeatability',
  'Slope of the plateau',
  'Self-heating',
  "Resistor's temperature",
])
