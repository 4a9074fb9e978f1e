import type { Migration } from '../../migrate.ts'
import register from './0001-register.ts'
import anchor from './0002-anchor.ts'
import records from './0003-records.ts'
import lists from './0004-lists.ts'
import drafts from './0005-drafts.ts'
import identity from './0006-identity.ts'
import certificates from './0007-certificates.ts'
import people from './0008-people.ts'
import laboratory from './0009-laboratory.ts'
import sessionSorts from './0010-session-sorts.ts'
import baths from './0011-baths.ts'

/** All steps of station.db, in order. */
export const stationMigrations: readonly Migration[] = [
  register,
  anchor,
  records,
  lists,
  drafts,
  identity,
  certificates,
  people,
  laboratory,
  sessionSorts,
  baths,
]
