import { stringify } from 'csv-stringify/sync'
import { first } from '../../app/base/lists.ts'
import { checkThermometer } from '../../app/checks/register-check.ts'
import { said } from '../../app/messages/said.ts'
import { dueOf } from '../../app/records/due.ts'
import { Register } from '../../app/records/register.ts'
import { StoreError } from './errors.ts'
import { Ledger } from './ledger.ts'
import type { Kind } from './records/kinds.ts'
import { Records } from './records/records.ts'
import { type Db, inTransaction } from './sqlite.ts'
import type { StationStore } from './station-store.ts'

// The whole register at once, as a file: ten years of it are some 25 MB, so it is made and read in a thread.

/** Records for reading alone, in a thread. */
export const readRecords = (db: Db): Records =>
  new Records(db, { ledger: new Ledger(db), now: () => 0, station: () => '' })

type Whole = Register & { cells: NonNullable<Register['cells']>; baths: NonNullable<Register['baths']> }

const registerOf = (db: Db): Whole => {
  const records = readRecords(db)
  return {
    thermometers: records.all('thermometer'),
    resistors: records.all('resistor'),
    instruments: records.all('instrument'),
    fluids: records.all('fluid'),
    cells: records.all('cell'),
    baths: records.all('bath'),
  }
}

/** The register as a file; `today` is the day by which due dates are told. */
export function registerText(db: Db, format: 'json' | 'csv', today: string): string {
  const register = registerOf(db)
  return format === 'json' ? `${JSON.stringify(register, null, 2)}\n` : csvOf(register, today)
}

function csvOf(register: Whole, today: string): string {
  const rows = [
    ...register.thermometers.map((entry) => ['thermometer', entry, entry.kind, dueOf(entry, today)] as const),
    ...register.resistors.map(
      (entry) => ['resistor', entry, `${entry.nominalOhm} ohm`, dueOf(entry, today)] as const,
    ),
    ...register.instruments.map((entry) => ['instrument', entry, entry.role, entry.due] as const),
    ...register.cells.map((entry) => ['cell', entry, entry.fixedPoint, entry.due] as const),
    ...register.baths.map((entry) => ['bath', entry, '', entry.due] as const),
    ...register.fluids.map(
      (entry) => ['fluid', entry, `${entry.lowC} to ${entry.highC} degC`, undefined] as const,
    ),
  ]
  return stringify(
    rows.map(([kind, entry, type, due]) => [
      ...[kind, entry.id, entry.name, type],
      ...['serial' in entry ? entry.serial : '', due ?? ''],
    ]),
    { header: true, columns: ['kind', 'id', 'name', 'type', 'serial', 'due'], escape_formulas: true },
  )
}

/** An entry that was read and looked at, as text: texts cross between threads at once, objects piece by piece. */
export interface ReadEntry {
  kind: Kind
  id: string
  json: string
}

/** Reads a register that was exported. Throws StoreError 'refused' where it is none, or where an entry cannot be right. */
export function readRegister(text: string): ReadEntry[] {
  let json: unknown
  try {
    json = JSON.parse(text)
  } catch {
    throw new StoreError('refused', said('register-not-json', {}))
  }
  const parsed = Register.safeParse(json)
  if (!parsed.success) {
    const issue = first(parsed.error.issues)
    throw new StoreError(
      'refused',
      said('register-of-wrong-form', { path: issue.path.join('.') || 'its top', said: issue.message }),
    )
  }
  const { thermometers, resistors, instruments, fluids, cells = [], baths = [] } = parsed.data
  for (const entry of thermometers) {
    const wrong = checkThermometer(entry).find(({ severity }) => severity === 'error')
    if (wrong)
      throw new StoreError('refused', said('register-entry-wrong', { entry: entry.name, wrong: wrong.words }))
  }
  const of = (kind: Kind, entries: readonly { id: string }[]) =>
    entries.map((entry): ReadEntry => ({ kind, id: entry.id, json: JSON.stringify(entry) }))
  return [
    ...of('thermometer', thermometers),
    ...of('resistor', resistors),
    ...of('instrument', instruments),
    ...of('fluid', fluids),
    ...of('cell', cells),
    ...of('bath', baths),
  ]
}

/** Time of the loop that measures which one slice of saving takes, ms. */
const SLICE_MS = 15

/**
 * Saves what was read, a slice at a time, so that thousands of records hold up nobody who measures. `onlyNew`: what somebody else
 * has made meanwhile stays as it is.
 */
export async function saveRead(
  store: StationStore,
  entries: readonly ReadEntry[],
  act: { who: string; why: string },
  onlyNew = false,
): Promise<void> {
  for (let at = 0; at < entries.length; ) {
    inTransaction(store.database, () => {
      const until = performance.now() + SLICE_MS
      do {
        const { kind, id, json } = entries[at]!
        if (!onlyNew || store.records.one(kind, id) === undefined)
          store.records.put(kind, id, JSON.parse(json), act)
        at += 1
      } while (at < entries.length && performance.now() < until)
    })
    await new Promise((resolve) => setImmediate(resolve))
  }
}
