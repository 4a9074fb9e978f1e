import type { Migration } from '../../migrate.ts'
import log from './0001-log.ts'
import chunk from './0002-chunk.ts'
import columns from './0003-columns.ts'
import pointReadings from './0004-point-readings.ts'

/** All steps of the session file, in order. */
export const sessionMigrations: readonly Migration[] = [log, chunk, columns, pointReadings]
