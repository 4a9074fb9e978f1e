import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import { expect, it } from 'vitest'
import { headBreak } from '../../main/store/file-head.ts'
import { createDatabase } from '../../main/store/sqlite.ts'

it('calls no file damaged whose description still lies in the write-ahead log, as while a reader holds it', () => {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-head-'))
  const path = join(folder, 'young.db')
  const writer = createDatabase(path, 'session')
  try {
    writer.exec('CREATE TABLE t (a); INSERT INTO t VALUES (1)')
    const reader = new Database(path, { readonly: true })
    reader.prepare('SELECT * FROM t').all()
    expect(headBreak(path)).toBeUndefined()
    reader.close()
  } finally {
    writer.close()
  }
  expect(headBreak(path)).toBeUndefined()
  rmSync(folder, { recursive: true })
})
