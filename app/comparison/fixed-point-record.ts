import type { Channel } from '../records/bench.ts'
import { isExcluded } from '../records/mark.ts'
import type { Reading } from '../records/reading.ts'
import type { Thermometer } from '../records/register.ts'
import { type FixedPointName, fixedPoint, fixedPointTemperature } from '../thermometry/fixed-points.ts'
import type { Chain } from './chain.ts'
import {
  type CellConditions,
  type FixedPointValue,
  type PlateauValue,
  reducePlateau,
  type SelfHeatingValue,
} from './fixed-point.ts'
import { type CellReading, findPlateau, type Plateau } from './fixed-point-plateau.ts'
import { ComparisonError } from './uncertainty-error.ts'

/** What a person says of a cell; what is left out is taken from the records, or widely. */
export interface CellSaid {
  readonly fixedPoint: FixedPointName
  readonly depthM?: number | undefined
  readonly uDepthM?: number | undefined
  readonly pressurePa?: number | undefined
  readonly uPressurePa?: number | undefined
  readonly uCellMk?: number | undefined
  readonly uHeatFluxMk?: number | undefined
  readonly selfHeating?: SelfHeatingValue | undefined
  readonly bandMk?: number | undefined
  readonly leastS?: number | undefined
}

/** A channel's record in a cell, with what its conversion needs. */
export interface CellRecord {
  readonly channel: Channel
  readonly chain: Chain
  readonly thermometer: Thermometer | undefined
  readonly readings: readonly Reading[]
}

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

/** The channel's readings at its own measuring current as resistances over time; others and those that do not count left out. */
function cellReadings({ channel, chain, readings }: CellRecord): CellReading[] {
  return readings.flatMap((reading) => {
    if (!hasValue(reading)) return []
    const { currentMa, unit, value, monoUs } = reading
    if (currentMa !== null && Math.abs(currentMa / channel.currentMa - 1) > 0.01) return []
    const ohm = chain.convert(Number(value), unit, currentMa).signal
    return Number.isFinite(ohm) ? [{ timeS: monoUs / 1e6, ohm }] : []
  })
}

function depthOf(said: CellSaid, notes: string[]): { depthM: number; uDepthM: number } {
  if (said.depthM !== undefined) {
    return { depthM: said.depthM, uDepthM: said.uDepthM ?? STATED_DEPTH_U_M }
  }
  notes.push('No depth of the element below the surface was given: 0.15 m, give or take as much, was taken.')
  return UNSTATED_DEPTH
}

function heatingOf(
  said: CellSaid,
  { channel, thermometer }: CellRecord,
  ohm: number,
  notes: string[],
): SelfHeatingValue {
  if (said.selfHeating) return said.selfHeating
  if (thermometer?.selfHeatingMk === undefined) {
    notes.push('The register states no self-heating of the thermometer: none was taken off.')
    return { mk: 0, uMk: 0 }
  }
  // The heat is I^2 R: what is stated at the nominal resistance grows with the resistance.
  const power = (channel.currentMa / thermometer.currentMa) ** 2 * (ohm / (thermometer.nominalOhm ?? ohm))
  const mk = thermometer.selfHeatingMk * power
  notes.push(
    `Self-heating ${mk.toFixed(2)} mK from the register, in proportion to I²R: measure it with two currents to do better.`,
  )
  return { mk, uMk: (SELF_HEATING_DOUBT * mk) / Math.sqrt(3) }
}

/** Ratio and resistor together at a temperature, mK. */
function bridgeMk(chain: Chain, celsius: number): number {
  const own = chain.parts(celsius).filter(({ name }) => name === 'bridge' || name.startsWith('resistor-'))
  return Math.hypot(...own.map(({ uMk }) => uMk))
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

/**
 * Finds the plateau of a cell in a channel's readings and reduces it: resistances through the channel's chain, corrections
 * for head, pressure and self-heating, components of its uncertainty. `rWtp` stands in for the R(WTP) the records know.
 *
 * Throws ComparisonError 'bad-input' where the readings make no resistance, and what findPlateau throws.
 */
export function plateauOfRecord(record: CellRecord, said: CellSaid, rWtp?: number): SessionPlateau {
  const notes: string[] = []
  const { chain, channel } = record
  const { depthM, uDepthM } = depthOf(said, notes)
  const { fixedPoint: name, pressurePa, uPressurePa, uHeatFluxMk } = said
  const t90C = fixedPointTemperature(name, depthM, pressurePa)
  const ohmPerKelvin = chain.slopeAt(t90C)
  const readings = cellReadings(record)
  if (readings.length === 0 || !(ohmPerKelvin > 0)) {
    throw new ComparisonError(
      'bad-input',
      `The readings of ${channel.name} make no resistance of a known thermometer. Look at the channel's thermometer and reference resistor.`,
      { channel: channel.id },
    )
  }
  const { bandMk, leastS } = said
  const known = rWtp ?? knownRWtp(chain)
  const plateau = findPlateau(readings, {
    ohmPerKelvin,
    near: nearOf(chain, name, t90C, known),
    ...(bandMk !== undefined && { bandMk }),
    ...(leastS !== undefined && { leastS }),
  })
  if (said.uCellMk === undefined) {
    notes.push(
      "The cell's own uncertainty was not given: a usual one was taken; its certificate or a comparison of cells says better.",
    )
  }
  const heating = heatingOf(said, record, plateau.ohm, notes)
  const conditions: CellConditions = {
    fixedPoint: name,
    depthM,
    uDepthM,
    uCellMk: said.uCellMk ?? (name === 'H2O' ? UNSTATED_CELL_MK.water : UNSTATED_CELL_MK.other),
    uBridgeMk: bridgeMk(chain, t90C),
    ...(pressurePa !== undefined && { pressurePa }),
    ...(uPressurePa !== undefined && { uPressurePa }),
    ...(uHeatFluxMk !== undefined && { uHeatFluxMk }),
  }
  const value = reducePlateau(plateau, conditions, heating, ohmPerKelvin)
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
      selfHeatingMk: heating.mk,
      uSelfHeatingMk: heating.uMk,
    },
    notes,
  }
}
