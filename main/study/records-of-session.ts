import type { Register } from '../../app/records/register.ts'
import { decisionsOf } from '../../app/results/analysis-input.ts'
import type { SessionFile } from '../store/session-file.ts'

/** Entries of a session's own records that stand otherwise in another register; a list that has none is left out. */
export function changedRecords(then: Register, now: Register): Partial<Register> {
  const newer = <T extends { id: string }>(own: readonly T[], current: readonly T[]): T[] =>
    own.flatMap((entry) => {
      const found = current.find(({ id }) => id === entry.id)
      return found && JSON.stringify(found) !== JSON.stringify(entry) ? [found] : []
    })
  const all: Register = {
    thermometers: newer(then.thermometers, now.thermometers),
    resistors: newer(then.resistors, now.resistors),
    instruments: newer(then.instruments, now.instruments),
    fluids: newer(then.fluids, now.fluids),
  }
  return Object.fromEntries(
    Object.entries(all).filter(([, entries]) => entries !== undefined && entries.length > 0),
  )
}

/** A session's own records as they stand in another register; those it does not have stay as they were. */
export function recordsOfNow(then: Register, now: Register): { register: Register; changed: string[] } {
  const newer = changedRecords(then, now)
  const take = <T extends { id: string }>(own: readonly T[], changed: readonly T[] = []): T[] =>
    own.map((entry) => changed.find(({ id }) => id === entry.id) ?? entry)
  return {
    register: {
      thermometers: take(then.thermometers, newer.thermometers),
      resistors: take(then.resistors, newer.resistors),
      instruments: take(then.instruments, newer.instruments),
      fluids: take(then.fluids, newer.fluids),
    },
    changed: Object.values(newer).flatMap((entries) => (entries ?? []).map(({ name }) => name)),
  }
}

/** A session's records as its results were computed with them: its own, as amended since. */
export function recordsOfThen(session: SessionFile): Register {
  return decisionsOf(session.setup, session.events()).setup.register
}
