import { type Said, said } from '../../app/messages/said.ts'
import { Bath } from '../../app/records/bath.ts'
import { Cell } from '../../app/records/cell.ts'
import { Fluid, InstrumentRecord, Resistor, Thermometer } from '../../app/records/register.ts'
import { StationError } from '../station/station-error.ts'
import type { StationStore } from '../store/station-store.ts'
import { type Act, saveLooked } from '../study/checks.ts'

const SAVED = /^(thermometer|resistor|instrument|fluid|cell|bath) saved$/

const refused = (why: Said, facts: Readonly<Record<string, unknown>>) =>
  new StationError('refused', why, facts)

/**
 * Takes a save of the register back: what stood before it is saved again, as an entry of its own in the ledger. Only the
 * newest save of a record can be taken back so, for an older one would take the later changes with it. Returns what was
 * done, in words. Throws StationError 'refused'.
 */
export function restoreEntry(store: StationStore, n: number, { who, why }: Act): string {
  const entry = store.ledgerEntry(n)
  const kind = entry && SAVED.exec(entry.what)?.[1]
  if (!entry || !kind) {
    throw refused(said('ledger-entry-no-save', { n }), { n })
  }
  if (entry.old === null) {
    throw refused(said('ledger-entry-first', { n }), { n })
  }
  const { rows } = store.ledgerLines({ subject: entry.subject, most: 100 })
  const newer = rows.find((e) => e.what === entry.what && e.n > n)
  if (newer) {
    throw refused(said('ledger-entry-not-last', { n: newer.n }), { n, newer: newer.n })
  }
  const old: unknown = JSON.parse(entry.old)
  const reason = `takes entry ${n} back: ${why}`
  switch (kind) {
    case 'thermometer':
      saveLooked(store, Thermometer.parse(old), { who, why: reason })
      break
    case 'resistor':
      store.saveResistor(Resistor.parse(old), who, reason)
      break
    case 'instrument':
      store.saveInstrument(InstrumentRecord.parse(old), who, reason)
      break
    case 'bath':
      store.saveBath(Bath.parse(old), who, reason)
      break
    case 'cell':
      store.saveCell(Cell.parse(old), who, reason)
      break
    default:
      store.saveFluid(Fluid.parse(old), who, reason)
  }
  return `The record stands again as it did before entry ${n}. Both changes stay in the ledger.`
}
