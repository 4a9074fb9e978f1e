import type { Bench } from '../../app/records/bench.ts'
import type { Register } from '../../app/records/register.ts'
import { localDate } from '../text/times.ts'

/** Which records differ between two states of a register, and which numbers of a session each of them reaches. */

export interface RecordChange {
  id: string
  /** 'Reference SPRT: R(WTP) of 2026-03-09: 25.467144 Ω became 25.467246 Ω'. */
  words: string
  /** 'Reference SPRT: R(WTP) of 2026-03-09'. */
  short: string
}

interface Dated {
  id?: string
  date: string
  certificate?: string
}

const same = (a: unknown, b: unknown): boolean => JSON.stringify(a) === JSON.stringify(b)

/** The value of a dated entry, where it is one number. */
const ohmOf = (entry: object): string | undefined =>
  'ohm' in entry && typeof entry.ohm === 'string' ? `${entry.ohm} Ω` : undefined

/** One thing that differs: what it is, and what became of it. */
interface Difference {
  what: string
  became: string
}

function datedChanges(what: string, old: readonly Dated[], now: readonly Dated[]): Difference[] {
  const keyOf = (entry: Dated) => entry.id ?? entry.date
  const nameOf = (entry: Dated) =>
    `${what}${entry.certificate ? ` ${entry.certificate}` : ''} of ${entry.date}`
  const found: Difference[] = []
  const add = (entry: Dated, became: string) => found.push({ what: nameOf(entry), became })
  for (const entry of now) {
    const before = old.find((one) => keyOf(one) === keyOf(entry))
    const value = ohmOf(entry)
    if (!before) add(entry, ` is new${value ? `: ${value}` : ''}`)
    else if (!same(before, entry)) {
      const was = ohmOf(before)
      add(
        entry,
        was !== undefined && value !== undefined && was !== value
          ? `: ${was} became ${value}`
          : ' was changed',
      )
    }
  }
  for (const entry of old)
    if (!now.some((one) => keyOf(one) === keyOf(entry))) add(entry, ' is no longer there')
  return found
}

/** Fields with a history of their own, and what an entry of it is called. */
const DATED: Record<string, string> = {
  calibrations: 'calibration',
  wtpHistory: 'R(WTP)',
  comparisons: 'comparison of resistors',
  checks: 'check',
}

function entryChanges(old: Record<string, unknown>, now: Record<string, unknown>): Difference[] {
  const found: Difference[] = []
  const others: string[] = []
  for (const field of new Set([...Object.keys(old), ...Object.keys(now)])) {
    if (same(old[field], now[field])) continue
    const history = DATED[field]
    const entries = (from: Record<string, unknown>) => (from[field] ?? []) as readonly Dated[]
    if (history) found.push(...datedChanges(history, entries(old), entries(now)))
    else others.push(field)
  }
  if (others.length > 0) found.push({ what: 'its record', became: ` was changed (${others.join(', ')})` })
  return found
}

/** Records that both registers have and that differ. */
export function recordChanges(then: Register, now: Register): RecordChange[] {
  const shelves = ['thermometers', 'resistors', 'instruments', 'fluids'] as const
  return shelves.flatMap((shelf) =>
    then[shelf].flatMap((old) => {
      const found = now[shelf].find(({ id }) => id === old.id)
      if (!found || same(found, old)) return []
      const differences = entryChanges({ ...old }, { ...found })
      return [
        {
          id: old.id,
          words: `${found.name}: ${differences.map(({ what, became }) => what + became).join('; ')}`,
          short: `${found.name}: ${differences.map(({ what }) => what).join('; ')}`,
        },
      ]
    }),
  )
}

/** Register entries that a number of the report rests on, by its key: 'prt-a.coefficient.r0', 'resistor.r-100.ohm'. */
export function restsOn(key: string, bench: Bench): ReadonlySet<string> {
  const [head = '', second = ''] = key.split('.')
  if (head === 'resistor') return new Set([second])
  const references = bench.channels.filter(({ role }) => role === 'reference')
  const own = bench.channels.filter(({ id }) => id === head)
  if (own.length === 0 && head !== 'reference' && head !== 'settled') return new Set()
  const ids = new Set<string>()
  const seen = new Set<string>()
  const follow = (channels: typeof references) => {
    for (const channel of channels) {
      if (seen.has(channel.id)) continue
      seen.add(channel.id)
      if (channel.thermometer) ids.add(channel.thermometer)
      const instrument = bench.instruments.find(({ id }) => id === channel.instrument)
      if (instrument?.register) ids.add(instrument.register)
      const { reference, junction } = channel
      if (reference?.kind === 'resistor') ids.add(reference.resistor)
      const others = [reference, junction].flatMap((at) => (at?.kind === 'channel' ? [at.channel] : []))
      follow(bench.channels.filter(({ id }) => others.includes(id)))
    }
  }
  follow([...own, ...references])
  return ids
}

/** Why a number changed, in words: the changed records that it rests on. */
export const whyChanged = (key: string, bench: Bench, changes: readonly RecordChange[]): string => {
  const ids = restsOn(key, bench)
  return changes
    .filter(({ id }) => ids.has(id))
    .map(({ short }) => short)
    .join('. ')
}

/** Two sessions are told apart by their names, and by their days where these are alike. */
export const sessionLabel = (name: string, startedUtcUs: number): string =>
  `${name || 'Session without a name'}, ${localDate(startedUtcUs)}`
