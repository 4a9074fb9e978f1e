import { said } from '../../app/messages/said.ts'
import { StoreError } from './errors.ts'
import { renewInCopy } from './in-copy.ts'
import { Ledger } from './ledger.ts'
import { migrate } from './migrate.ts'
import { stationMigrations } from './migrations/station/index.ts'
import { openDatabase } from './sqlite.ts'

/** What must be the same before and after: the ledger to its last entry. */
function ledgerOf(path: string): string {
  const db = openDatabase(path, 'station', 'read')
  try {
    return JSON.stringify(new Ledger(db).verify())
  } finally {
    db.close()
  }
}

/**
 * Gives an older station.db the newest form, in a copy that takes its name once the ledger in it was found to be the
 * same. The file as it was stays beside it.
 */
export function renewStation(path: string): { from: number; keptAs: string } {
  const before = ledgerOf(path)
  return renewInCopy(path, 'station', {
    step: (copy) => migrate(copy, stationMigrations),
    check(copyPath) {
      if (ledgerOf(copyPath) !== before)
        throw new StoreError('damaged', said('renewed-ledger-differs', { path }), { path })
    },
  })
}
