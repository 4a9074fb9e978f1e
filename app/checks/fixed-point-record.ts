import type { Chain } from '../live/chain.ts'
import { said } from '../messages/said.ts'
import type { Channel } from '../records/bench.ts'
import { isExcluded } from '../records/mark.ts'
import type { Reading } from '../records/reading.ts'
import type { Thermometer } from '../records/register.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'
import { type FixedPointName, fixedPoint, fixedPointTemperature } from '../thermometry/fixed-points.ts'
import {
  type CellConditions,
  type FixedPointValue,
  type PlateauValue,
  reducePlateau,
  type SelfHeatingValue,
} from './fixed-point.ts'
import { type CellReading, findPlateau, type Plateau, plateauOfStretch } from './fixed-point-plateau.ts'
import { type CurrentPair, heatingFromPair } from './fixed-point-zero-current.ts'

/** What a person says of a cell; what is left out is taken from the records, or widely. */
export interface CellSaid {
  readonly fixedPoint: FixedPointName
  readonly depthM?: number | undefined
  readonly uDepthM?: number | undefined
  readonly pressurePa?: number | undefined
  readonly uPressurePa?: number | undefined
  readonly offsetMk?: number | undefined
  readonly uCellMk?: number | undefined
  readonly uHeatFluxMk?: number | undefined
  readonly selfHeating?: SelfHeatingValue | undefined
  readonly bandMk?: number | undefined
  readonly leastS?: number | undefined
  /** The value is taken between these moments, UTC in microseconds, and no plateau is looked for. */
  readonly used?: { readonly fromUtcUs: number; readonly toUtcUs: number } | undefined
  /** Self-heating from the register even where the session measured at two currents. */
  readonly withoutPair?: boolean | undefined
}

/** A channel's record in a cell, with what its conversion needs. */
export interface CellRecord {
  readonly channel: Channel
  readonly chain: Chain
  readonly thermometer: Thermometer | undefined
  readonly readings: readonly Reading[]
  /** Register id of the bridge that read it. */
  readonly bridge?: string | undefined
  /** Other channels on which the same thermometer was read, at another current. */
  readonly beside?: readonly Pick<CellRecord, 'channel' | 'chain' | 'readings'>[]
}

export type HeatingSource = 'two-currents' | 'register' | 'given' | 'none'

/** A plateau of a session: as found, reduced, and as a "fixed-points" request takes it. */
export interface SessionPlateau {
  readonly plateau: Plateau
  readonly value: FixedPointValue
  /** R0 / R(WTP) with the R(WTP) the records know; null where they know none. */
  readonly w: number | null
  readonly request: CellConditions &
    PlateauValue & {
      readonly ohmPerKelvin: number
      readonly selfHeatingMk: number
      readonly uSelfHeatingMk: number
    }
  readonly heatingFrom: HeatingSource
  /** The readings at two currents that self-heating was found from; null where it was not. */
  readonly pair: CurrentPair | null
  /** Moments the value is taken between, UTC in microseconds, and the numbers of the first and the last reading. */
  readonly used: {
    readonly fromUtcUs: number
    readonly toUtcUs: number
    readonly firstSeq: number
    readonly lastSeq: number
  }
  /** What was taken for want of a better figure. */
  readonly notes: readonly string[]
}

/** Standard uncertainty of a cell where nobody states it, mK: a water triple point cell, any other. Common practice, no source. */
const UNSTATED_CELL_MK = { water: 0.1, other: 0.5 } as const
/** Depth that nobody states lies anywhere up to 0.3 m; half of it, as a rectangle's standard uncertainty. Common practice, no source. */
const UNSTATED_DEPTH = { depthM: 0.15, uDepthM: 0.15 / Math.sqrt(3) } as const
const STATED_DEPTH_U_M = 0.005
/** A thermometer of known R(WTP), or calibrated, shows the cell's temperature to this, K. Common practice, no source. */
const NEAR_KNOWN_K = 0.3
/** A resistance is within this part of what the nominal value leads to. Common practice, no source. */
const NEAR_NOMINAL = 5e-3
/** Part of a self-heating figure that was not measured here which it may be wrong by, half-width. Common practice, no source. */
const SELF_HEATING_DOUBT = 0.2

const hasValue = (reading: Reading) => reading.value !== null && !isExcluded(reading.marks)

/** A reading in the cell with its place in the session. */
export interface PlacedReading extends CellReading {
  readonly utcUs: number
  readonly seq: number
  readonly currentMa: number
}

type Source = Pick<CellRecord, 'channel' | 'chain' | 'readings'>

/** Readings of a channel as resistances over time, at whatever current; those that do not count are left out. */
function placed({ channel, chain, readings }: Source): PlacedReading[] {
  return readings.flatMap((reading) => {
    if (!hasValue(reading)) return []
    const { unit, value, monoUs, utcUs, seq } = reading
    const currentMa = reading.currentMa ?? channel.currentMa
    const ohm = chain.convert(Number(value), unit, currentMa).signal
    return Number.isFinite(ohm) ? [{ timeS: monoUs / 1e6, ohm, utcUs, seq, currentMa }] : []
  })
}

const isNear = (a: number, b: number) => Math.abs(a / b - 1) <= 0.01

/** The channel's readings at its own measuring current as resistances over time. */
export function cellReadings(record: Source): PlacedReading[] {
  return placed(record).filter(({ currentMa }) => isNear(currentMa, record.channel.currentMa))
}

/** Readings of the same thermometer at the other current that was used most, in this channel or one beside it. */
function atOtherCurrent(record: CellRecord): PlacedReading[] {
  const others = [record, ...(record.beside ?? [])]
    .flatMap(placed)
    .filter(({ currentMa }) => !isNear(currentMa, record.channel.currentMa))
  const groups = new Map<number, PlacedReading[]>()
  for (const reading of others) {
    const known = [...groups.keys()].find((current) => isNear(current, reading.currentMa))
    if (known === undefined) groups.set(reading.currentMa, [reading])
    else groups.get(known)!.push(reading)
  }
  const [most] = [...groups.values()].toSorted((a, b) => b.length - a.length)
  return most?.toSorted((a, b) => a.timeS - b.timeS) ?? []
}

function depthOf(said: CellSaid, notes: string[]): { depthM: number; uDepthM: number } {
  if (said.depthM !== undefined) {
    return { depthM: said.depthM, uDepthM: said.uDepthM ?? STATED_DEPTH_U_M }
  }
  notes.push('No depth of the element below the surface was given: 0.15 m, give or take as much, was taken.')
  return UNSTATED_DEPTH
}

interface Heating {
  readonly value: SelfHeatingValue
  readonly from: HeatingSource
  readonly pair: CurrentPair | null
}

function heatingOf(
  said: CellSaid,
  record: CellRecord,
  own: readonly PlacedReading[],
  plateau: Plateau,
  ohmPerKelvin: number,
  notes: string[],
): Heating {
  if (said.selfHeating) return { value: said.selfHeating, from: 'given', pair: null }
  const { channel, thermometer } = record
  const pair = said.withoutPair
    ? undefined
    : heatingFromPair(own, atOtherCurrent(record), plateau, ohmPerKelvin)
  if (pair) {
    return { value: { mk: pair.heatingMk, uMk: pair.uHeatingMk }, from: 'two-currents', pair }
  }
  if (thermometer?.selfHeatingMk === undefined) {
    notes.push('The register states no self-heating of the thermometer: none was taken off.')
    return { value: { mk: 0, uMk: 0 }, from: 'none', pair: null }
  }
  // The heat is I^2 R: what is stated at the nominal resistance grows with the resistance.
  const power =
    (channel.currentMa / thermometer.currentMa) ** 2 * (plateau.ohm / (thermometer.nominalOhm ?? plateau.ohm))
  const mk = thermometer.selfHeatingMk * power
  notes.push(
    `Self-heating ${mk.toFixed(2)} mK from the register, in proportion to I²R: measure it with two currents to do better.`,
  )
  return { value: { mk, uMk: (SELF_HEATING_DOUBT * mk) / Math.sqrt(3) }, from: 'register', pair: null }
}

/** What is uncertain of the ratio, of the resistor's value and of its temperature, as temperatures, mK. */
function resistanceMk(
  chain: Chain,
  celsius: number,
): { uBridgeMk: number; uResistorMk: number; uResistorTemperatureMk: number } {
  const parts = chain.parts(celsius)
  const of = (...names: readonly string[]) =>
    Math.hypot(...parts.filter(({ name }) => names.includes(name)).map(({ uMk }) => uMk))
  return {
    uBridgeMk: of('bridge'),
    uResistorMk: of('resistor-calibration', 'resistor-drift'),
    uResistorTemperatureMk: of('resistor-temperature'),
  }
}

/** R(WTP) that the chain knows: the register's in force, else the certificate's; null where there is neither. */
function knownRWtp({ wtp, calibration }: Chain): number | null {
  if (wtp) return Number(wtp.ohm)
  const conversion = calibration?.conversion
  return conversion?.kind === 'its90' && conversion.rWtp !== undefined ? Number(conversion.rWtp) : null
}

/** Where the plateau is looked for. Above 0 degC the reference ratio is within a few tenths of a kelvin for any good platinum. */
function nearOf(chain: Chain, name: FixedPointName, t90C: number, rWtp: number | null) {
  const { wr } = fixedPoint(name)
  if (rWtp !== null && wr !== undefined) return { ohm: rWtp * wr, withinK: NEAR_KNOWN_K }
  const ohm = chain.signalAt(t90C)
  return { ohm, withinK: chain.nominal ? (NEAR_NOMINAL * ohm) / chain.slopeAt(t90C) : NEAR_KNOWN_K }
}

/** Two moments by the clock on the wall, as times of the record. */
function stretchOf(
  readings: readonly PlacedReading[],
  { fromUtcUs, toUtcUs }: { readonly fromUtcUs: number; readonly toUtcUs: number },
) {
  const within = readings.filter(({ utcUs }) => utcUs >= fromUtcUs && utcUs <= toUtcUs)
  return { fromS: within[0]?.timeS ?? 0, toS: within.at(-1)?.timeS ?? 0 }
}

function placeOf(
  readings: readonly PlacedReading[],
  { usedFromS, usedToS }: Plateau,
): SessionPlateau['used'] {
  const first = readings.find(({ timeS }) => timeS >= usedFromS)!
  const last = readings.findLast(({ timeS }) => timeS <= usedToS)!
  return { fromUtcUs: first.utcUs, toUtcUs: last.utcUs, firstSeq: first.seq, lastSeq: last.seq }
}

/**
 * Finds the plateau of a cell in a channel's readings and reduces it: resistances through the channel's chain, corrections
 * for head, pressure and self-heating, components of its uncertainty. `rWtp` stands in for the R(WTP) the records know.
 * Where the session read the thermometer at two currents within the stretch used, self-heating comes from them.
 *
 * Throws ComparisonError 'bad-input' where the readings make no resistance, and what findPlateau throws.
 */
export function plateauOfRecord(record: CellRecord, given: CellSaid, rWtp?: number): SessionPlateau {
  const notes: string[] = []
  const { chain, channel } = record
  const { depthM, uDepthM } = depthOf(given, notes)
  const { fixedPoint: name, pressurePa, uPressurePa, uHeatFluxMk } = given
  const t90C = fixedPointTemperature(name, depthM, pressurePa)
  const ohmPerKelvin = chain.slopeAt(t90C)
  const readings = cellReadings(record)
  if (readings.length === 0 || !(ohmPerKelvin > 0)) {
    throw new ComparisonError('bad-input', said('channel-makes-no-resistance', { channel: channel.name }), {
      channel: channel.id,
    })
  }
  const { bandMk, leastS } = given
  const known = rWtp ?? knownRWtp(chain)
  const plateau = given.used
    ? plateauOfStretch(readings, stretchOf(readings, given.used), ohmPerKelvin)
    : findPlateau(readings, {
        ohmPerKelvin,
        near: nearOf(chain, name, t90C, known),
        ...(bandMk !== undefined && { bandMk }),
        ...(leastS !== undefined && { leastS }),
      })
  if (given.uCellMk === undefined) {
    notes.push(
      "The cell's own uncertainty was not given: a usual one was taken; its certificate or a comparison of cells says better.",
    )
  }
  const heating = heatingOf(given, record, readings, plateau, ohmPerKelvin, notes)
  const conditions: CellConditions = {
    fixedPoint: name,
    depthM,
    uDepthM,
    uCellMk: given.uCellMk ?? (name === 'H2O' ? UNSTATED_CELL_MK.water : UNSTATED_CELL_MK.other),
    ...resistanceMk(chain, t90C),
    ...(given.offsetMk !== undefined && { offsetMk: given.offsetMk }),
    ...(pressurePa !== undefined && { pressurePa }),
    ...(uPressurePa !== undefined && { uPressurePa }),
    ...(uHeatFluxMk !== undefined && { uHeatFluxMk }),
  }
  const value = reducePlateau(plateau, conditions, heating.value, ohmPerKelvin)
  return {
    plateau,
    value,
    w: known === null ? null : value.ohm / known,
    request: {
      ...conditions,
      ohm: plateau.ohm,
      uTypeAMk: plateau.uTypeAMk,
      degreesOfFreedom: plateau.degreesOfFreedom,
      rangeMk: plateau.rangeMk,
      ohmPerKelvin,
      selfHeatingMk: heating.value.mk,
      uSelfHeatingMk: heating.value.uMk,
      ...(channel.reference?.kind === 'resistor' && { resistor: channel.reference.resistor }),
      ...(record.bridge !== undefined && { bridge: record.bridge }),
    },
    heatingFrom: heating.from,
    pair: heating.pair,
    used: placeOf(readings, plateau),
    notes,
  }
}
