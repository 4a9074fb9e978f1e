import type { Migration } from '../../migrate.ts'

/**
 * Chunks that hold all of a reading but its text, and whose extremes leave out what belongs into no picture. They are
 * built again from the log after this step.
 */
const step: Migration = {
  id: 3,
  brings:
    'whole readings in the stretches of each channel; overviews without what was read while an input settled',
  up(db) {
    db.exec('DELETE FROM chunk; DELETE FROM chunk_cells; DELETE FROM chunk_body; DELETE FROM sealed;')
  },
}
export default step
