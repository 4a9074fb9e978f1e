import { answerCheckLine } from '../../app/checks/answer-check.ts'
import { withCell } from '../../app/checks/cell-said.ts'
import type { CellSaid } from '../../app/checks/fixed-point-record.ts'
import { CheckRequest } from '../../app/contract/check-request.ts'
import { said } from '../../app/messages/said.ts'
import { StationError } from '../station/station-error.ts'
import type { StationStore } from '../store/station-store.ts'
import { type Act, recordCheck } from './checks.ts'
import { plateauOfSession, sessionDay } from './checks-plateau.ts'

export interface LineDesk {
  /** Register that ids are looked up in. */
  readonly store?: StationStore | undefined
  readonly dataFolder?: string | undefined
  /** Present: each result is written into the register. */
  readonly act?: Act | undefined
  readonly today: string
}

type Json = Record<string, unknown>

const isObject = (value: unknown): value is Json =>
  typeof value === 'object' && value !== null && !Array.isArray(value)
const wordsOf = (fault: unknown) => (fault instanceof Error ? fault.message : String(fault))

/** A resistor by its id in the register, where it is not written out. */
function resistorOf(value: unknown, { store }: LineDesk): unknown {
  if (typeof value !== 'string') return value
  const found = store?.records.one('resistor', value)
  if (found) return found
  throw new StationError(
    'refused',
    store
      ? said('no-resistor-in-register', { resistor: value })
      : said('resistor-without-folder', { resistor: value }),
  )
}

/** A plateau recorded in a session, where it is not written out; what the request says itself comes first. */
function plateauOf(value: unknown, { dataFolder, store }: LineDesk, rWtp: number | undefined): unknown {
  if (!isObject(value) || typeof value.session !== 'string') return value
  const { session, channel, ...given } = value
  if (typeof channel !== 'string') {
    throw new StationError('refused', said('plateau-channel-not-named', { session }))
  }
  const known = withCell(given as unknown as CellSaid, store?.register().cells ?? [])
  const { request, used } = plateauOfSession({ session, channel }, known, { dataFolder, rWtp })
  const utc = new Date((used.fromUtcUs + used.toUtcUs) / 2000).toISOString()
  return { ...request, utc, ...given }
}

/** All plateaus of a request; those at the water triple point first, for their R(WTP) tells where the others lie. */
function plateausOf(values: readonly unknown[], desk: LineDesk): unknown[] {
  const isWater = (value: unknown) => isObject(value) && value.fixedPoint === 'H2O'
  const water = values.map((value) => (isWater(value) ? plateauOf(value, desk, undefined) : value))
  const known = water.find(isWater)
  const rWtp = isObject(known) ? Number(known.ohm) : Number.NaN
  return water.map((value) =>
    isWater(value) ? value : plateauOf(value, desk, Number.isFinite(rWtp) ? rWtp : undefined),
  )
}

/** The day a request is dated with: its own, else that of the session it names, else today; the window dates alike. */
function dated(parsed: Json, { dataFolder }: LineDesk): Json {
  if (parsed.date !== undefined || typeof parsed.session !== 'string') return parsed
  return { ...parsed, date: sessionDay(parsed.session, dataFolder) }
}

/** Fills in what a request names by id or by session. */
function resolved(parsed: Json, desk: LineDesk): Json {
  if (parsed.check === 'resistor') {
    return { ...parsed, better: resistorOf(parsed.better, desk), resistor: resistorOf(parsed.resistor, desk) }
  }
  if (parsed.check === 'fixed-points' && Array.isArray(parsed.plateaus)) {
    return { ...parsed, plateaus: plateausOf(parsed.plateaus, desk) }
  }
  if (parsed.check === 'cells') {
    const plateau = (value: unknown, cell: unknown) =>
      plateauOf(isObject(value) && value.session !== undefined ? { cell, ...value } : value, desk, undefined)
    return { ...parsed, own: plateau(parsed.own, parsed.cell), other: plateau(parsed.other, parsed.against) }
  }
  return parsed
}

/**
 * Answers one line of `stillpoint check`, looks up what it names, and writes the result into the register where that is
 * wanted. Never throws: a line that fails answers with an error and those after it go on.
 */
export function answerCheckLineAt(desk: LineDesk): (line: string, number: number) => object {
  return (line, number) => {
    let parsed: unknown
    try {
      parsed = JSON.parse(line)
    } catch {
      return answerCheckLine(line, number)
    }
    if (!isObject(parsed)) return answerCheckLine(line, number)
    const id = parsed.id ?? null
    try {
      const whole = resolved(dated(parsed, desk), desk)
      const answer = answerCheckLine(JSON.stringify(whole), number)
      if ('error' in answer || !desk.act || !desk.store) return answer
      return { ...answer, recorded: recordCheck(desk.store, CheckRequest.parse(whole), desk.act, desk.today) }
    } catch (fault) {
      return { id, error: wordsOf(fault) }
    }
  }
}
