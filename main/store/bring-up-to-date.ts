import { said } from '../../app/messages/said.ts'
import { StoreError } from './errors.ts'
import { renewInCopy } from './in-copy.ts'
import { migrate } from './migrate.ts'
import { sessionMigrations } from './migrations/session/index.ts'
import { rebuildChunks } from './pyramid.ts'
import { Numbering } from './rows.ts'
import { inTransaction } from './sqlite.ts'
import { verifySession } from './verify.ts'

/**
 * Gives an older session file the newest form: in a copy, which is verified and then takes the file's name. The file
 * as it was stays beside it, with its form in its name. Throws StoreError 'locked' while others have it open.
 */
export function bringUpToDate(path: string): { from: number; keptAs: string } {
  return renewInCopy(path, 'session', {
    step(copy) {
      migrate(copy, sessionMigrations)
      inTransaction(copy, () => rebuildChunks(copy, Numbering.read(copy)))
    },
    check(copyPath) {
      const { whole, words } = verifySession(copyPath)
      if (!whole) throw new StoreError('damaged', said('not-renewed-not-whole', { path, words }), { path })
    },
  })
}
