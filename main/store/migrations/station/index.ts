import type { Migration } from '../../migrate.ts'
import register from './0001-register.ts'
import anchor from './0002-anchor.ts'

/** All steps of station.db, in order. */
export const stationMigrations: readonly Migration[] = [register, anchor]
