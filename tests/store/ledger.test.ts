import { createHash } from 'node:crypto'
import { join } from 'node:path'
import { expect, it, onTestFinished } from 'vitest'
import { Ledger, type NewLedgerEntry } from '../../main/store/ledger.ts'
import { migrate } from '../../main/store/migrate.ts'
import { stationMigrations } from '../../main/store/migrations/station/index.ts'
import { createDatabase } from '../../main/store/sqlite.ts'
import { temporaryFolder } from './example.ts'

function ledger() {
  const db = createDatabase(join(temporaryFolder(), 'station.db'), 'station')
  onTestFinished(() => void db.close())
  migrate(db, stationMigrations)
  const kept = new Ledger(db)
  let utcUs = 1_000
  const add = (entry: Partial<NewLedgerEntry> = {}) =>
    kept.append(
      { who: 'M. Ode', what: 'thermometer saved', subject: 't1', old: null, new: '{}', why: '', ...entry },
      utcUs++,
    )
  return { db, kept, add }
}

it('chains each entry to the one before by the SHA-256 of both, from 64 zeros', () => {
  const { kept, add } = ledger()
  const first = add({ old: '{"a":1}', why: 'renewed' })
  const second = add({ subject: 't2' })
  const hash = (before: string, list: unknown[]) =>
    createHash('sha256')
      .update(`${before}${JSON.stringify(list)}`)
      .digest('hex')
  const saved = 'thermometer saved'
  expect(first.hash).toBe(hash('0'.repeat(64), [1, 1_000, 'M. Ode', saved, 't1', '{"a":1}', '{}', 'renewed']))
  expect(second.hash).toBe(hash(first.hash, [2, 1_001, 'M. Ode', saved, 't2', null, '{}', '']))
  expect(kept.verify()).toEqual({ whole: true, entries: 2, head: second.hash, firstBreak: null })
})

it('lists the newest first, a page at a time and five hundred where no number is asked for', () => {
  const { db, kept, add } = ledger()
  db.exec('BEGIN')
  for (let n = 1; n <= 503; n += 1)
    add({ subject: n % 2 === 0 ? 'even' : 'odd', why: n === 7 ? 'seven' : '' })
  db.exec('COMMIT')
  const numbers = (query: Parameters<Ledger['lines']>[0]) => kept.lines(query).rows.map(({ n }) => n)
  expect(kept.lines().total).toBe(503)
  expect(numbers({})).toEqual(Array.from({ length: 500 }, (_, i) => 503 - i))
  expect(numbers({ from: 500 })).toEqual([3, 2, 1])
  expect(numbers({ reverse: true, from: 1, most: 2 })).toEqual([2, 3])
  expect(numbers({ subject: 'even', most: 2 })).toEqual([502, 500])
  expect(kept.lines({ subject: 'even', most: 2 }).total).toBe(251)
  expect(kept.lines({ search: 'sev' })).toMatchObject({ total: 1, rows: [{ n: 7 }] })
  expect(kept.lines({ search: 'sev', subject: 'odd' })).toMatchObject({ total: 1, rows: [{ n: 7 }] })
  expect(kept.lines({ search: 'sev', subject: 'even' })).toEqual({ total: 0, rows: [] })
  expect(numbers({ search: 'ode odd', reverse: true, from: 2, most: 2 })).toEqual([5, 7])
  expect(kept.list({ most: 1 })[0]).toMatchObject({ n: 503, old: null, new: '{}' })
  expect(kept.entry(7)).toMatchObject({ n: 7, why: 'seven' })
  expect(kept.entry(504)).toBeUndefined()
})

it('lets a save be taken back where a record was there before and none of it came after', () => {
  const { kept, add } = ledger()
  add()
  add({ old: '{}' })
  add({ old: '{}', what: 'thermometer retired' })
  add({ old: '{}', subject: 't2' })
  add({ old: '{}', subject: 't2' })
  const can = kept.lines({ reverse: true }).rows.map(({ canTakeBack }) => canTakeBack)
  // The first had nothing before it, the third is no save, and a later save of t2 came after the fourth.
  expect(can).toEqual([false, true, false, false, true])
})

it('names the first entry that was changed or taken out, and what was whole before it', () => {
  const changed = ledger()
  changed.db.exec('BEGIN')
  for (let n = 1; n <= 1_001; n += 1) changed.add()
  changed.db.exec('COMMIT')
  expect(changed.kept.verify()).toMatchObject({ whole: true, entries: 1_001 })
  changed.db.exec(`DROP TRIGGER ledger_no_update; UPDATE ledger SET why = 'nobody' WHERE n = 1001`)
  expect(changed.kept.verify()).toMatchObject({
    ...{ whole: false, entries: 1_000, head: changed.kept.entry(1_000)!.hash },
    firstBreak: 'Entry 1001 of the ledger (thermometer saved, t1) is not what was written.',
  })
  changed.db.exec('DROP TRIGGER ledger_no_delete; DELETE FROM ledger WHERE n = 3')
  expect(changed.kept.verify()).toMatchObject({
    ...{ whole: false, entries: 2, head: changed.kept.entry(2)!.hash },
    firstBreak: 'Entry 3 of the ledger is missing.',
  })
})
