import { utcDay } from '../../app/base/times.ts'
import {
  type CellRecord,
  type CellSaid,
  cellReadings,
  plateauOfRecord,
  type SessionPlateau,
} from '../../app/checks/fixed-point-record.ts'
import { plateauProgress } from '../../app/checks/plateau-progress.ts'
import type { FoundPlateau, PlateauView } from '../../app/contract/checks.ts'
import { sessionDate } from '../../app/results/analysis-channel.ts'
import { ComparisonError } from '../../app/results/uncertainty-error.ts'
import { type CellStretch, cellRecordIn } from '../station/cell-record.ts'
import { findSession } from '../store/find-session.ts'
import { openSessionFile } from '../store/session-file.ts'

/** Where a plateau was recorded. */
export interface PlateauPlace {
  /** Path of a session file, or an id within a data folder. */
  readonly session: string
  readonly channel: string
  readonly fromUtcUs?: number | undefined
  readonly toUtcUs?: number | undefined
}

/** What a channel of a session's file recorded. Throws what cellRecordIn throws. */
function cellRecordOf(path: string, stretch: CellStretch): CellRecord {
  const file = openSessionFile(path, { mode: 'read' })
  try {
    return cellRecordIn(file, stretch)
  } finally {
    file.close()
  }
}

/** The plateau that a channel of a session recorded in a cell. Throws what cellRecordOf and plateauOfRecord throw. */
export function plateauOfSession(
  { session, ...place }: PlateauPlace,
  said: CellSaid,
  options: { rWtp?: number | undefined; dataFolder?: string | undefined } = {},
): SessionPlateau {
  const record = cellRecordOf(findSession(session, options.dataFolder).path, place)
  return plateauOfRecord(record, said, options.rWtp)
}

/** The day a session began, by its own record. Throws what findSession and openSessionFile throw. */
export function sessionDay(session: string, dataFolder: string | undefined): string {
  const file = openSessionFile(findSession(session, dataFolder).path, { mode: 'read' })
  try {
    return sessionDate(file.info)
  } finally {
    file.close()
  }
}

/** Points of a record that a plot is given. */
const MOST_DRAWN = 1200

/**
 * The record of a channel as a window draws it, and the plateau in it. Where none is found the record still comes, with the
 * reason, so that a person may choose the stretch.
 */
export function plateauView(
  path: string,
  place: Omit<PlateauPlace, 'session'>,
  said: CellSaid,
  rWtp?: number,
): PlateauView {
  const record = cellRecordOf(path, place)
  const readings = cellReadings(record)
  const every = Math.max(1, Math.ceil(readings.length / MOST_DRAWN))
  const drawn = readings.filter((_, i) => i % every === 0)
  const view = {
    date: utcDay(readings[0]?.utcUs ?? 0),
    thermometer: record.thermometer?.id ?? null,
    currentMa: record.channel.currentMa,
    readings: readings.length,
    utcS: drawn.map(({ utcUs }) => utcUs / 1e6),
    ohm: drawn.map(({ ohm }) => ohm),
  }
  try {
    const found = plateauOfRecord(record, said, rWtp)
    const progress = { ...plateauProgress(found.plateau, readings.at(-1)?.timeS ?? found.plateau.toS) }
    return { ...view, found: foundOf(found), progress, problem: null }
  } catch (fault) {
    if (!(fault instanceof ComparisonError)) throw fault
    return { ...view, found: null, progress: null, problem: fault.message }
  }
}

const counted = (degreesOfFreedom: number) => (Number.isFinite(degreesOfFreedom) ? degreesOfFreedom : null)

function foundOf({
  plateau,
  value,
  w,
  request,
  heatingFrom,
  pair,
  used,
  notes,
}: SessionPlateau): FoundPlateau {
  const { kind, n, nEffective, sdMk, driftMkPerHour, rangeMk, supercoolMk } = plateau
  return {
    kind,
    lengthS: plateau.toS - plateau.fromS,
    used: { ...used },
    n,
    nEffective,
    sdMk,
    driftMkPerHour,
    rangeMk,
    supercoolMk,
    meanOhm: plateau.ohm,
    ohm: value.ohm,
    t90C: value.t90C,
    ohmPerKelvin: request.ohmPerKelvin,
    headMk: value.headMk,
    pressureMk: value.pressureMk,
    selfHeatingMk: request.selfHeatingMk,
    heatingFrom,
    pair: pair && { ...pair },
    components: value.components.map(({ degreesOfFreedom, ...component }) => ({
      ...component,
      degreesOfFreedom: counted(degreesOfFreedom),
    })),
    uMk: value.uMk,
    degreesOfFreedom: counted(value.degreesOfFreedom),
    w,
    notes: [...notes],
    request: { ...request },
  }
}
