import type { ChartKind } from '../../app/contract/checks.ts'
import { type Db, prepared } from './sqlite.ts'

export interface ChartedQuery {
  kind: ChartKind
  from: number
  most: number
}

/** Which lists of a record make its chart. */
const LISTS: Record<Exclude<ChartKind, 'check-thermometer'>, { kind: string; lists: readonly string[] }> = {
  rwtp: { kind: 'thermometer', lists: ['wtpHistory'] },
  resistor: { kind: 'resistor', lists: ['calibrations', 'comparisons'] },
  bridge: { kind: 'instrument', lists: ['checks'] },
}

/**
 * Records that have something in their chart of a kind, those with the newest entry first; and how many sessions are still
 * to be looked through for check thermometers.
 */
export function listCharted(
  db: Db,
  { kind, from, most }: ChartedQuery,
): { total: number; pending: number; rows: { id: string; name: string }[] } {
  const { tables, values } = kind === 'check-thermometer' ? checked() : entered(LISTS[kind])
  const total = prepared(db, `SELECT count(*) FROM (SELECT r.n ${tables})`)
    .pluck()
    .get(...values) as number
  const rows = prepared(
    db,
    `SELECT r.id, r.name, max(e.date) AS newest ${tables} ORDER BY newest DESC, r.name, r.id LIMIT ? OFFSET ?`,
  ).all(...values, most, from) as { id: string; name: string }[]
  const pending =
    kind === 'check-thermometer'
      ? (prepared(
          db,
          'SELECT count(*) FROM session WHERE looked_at IS NOT form AND ended_utc_us IS NOT NULL AND damaged IS NULL',
        )
          .pluck()
          .get() as number)
      : 0
  return { total, pending, rows: rows.map(({ id, name }) => ({ id, name })) }
}

const checked = () => ({
  tables: `FROM check_point e JOIN record r ON r.kind = 'thermometer' AND r.id = e.thermometer WHERE r.state = 'kept' GROUP BY r.n`,
  values: [] as string[],
})

const entered = ({ kind, lists }: { kind: string; lists: readonly string[] }) => ({
  tables: `FROM record r JOIN part e ON e.record = r.n AND e.list IN (${lists.map(() => '?').join(', ')})
    WHERE r.kind = ? AND r.state = 'kept' GROUP BY r.n`,
  values: [...lists, kind],
})
