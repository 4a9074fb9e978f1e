import { spawnSync } from 'node:child_process'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import { describe, expect, it } from 'vitest'
import { createSessionFile } from '../../main/store/session-file.ts'
import {
  exampleClock,
  exampleEvent,
  exampleInfo,
  examplePoint,
  exampleSetup,
  scan,
  temporaryFolder,
} from './example.ts'

const read = (path: string) =>
  spawnSync('python3', [join(import.meta.dirname, 'independent.py'), path], { encoding: 'utf8' })

describe('docs/session-file.md', () => {
  it('is enough to walk the chain with a program that shares nothing with ours', (context) => {
    if (spawnSync('python3', ['-c', 'import sqlite3'], { stdio: 'ignore' }).status !== 0)
      return context.skip('python3 is not installed here')
    const path = join(temporaryFolder(), 'a.stillpoint')
    const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
    for (let tick = 0; tick < 50; tick++)
      file.commit({
        readings: [
          ...scan(tick, 3),
          {
            ...scan(tick, 1)[0]!,
            raw: 'ch1,1.0\u00b5',
            value: '1.0',
            marks: ['late'],
            currentMa: Math.SQRT2,
          },
          { ...scan(tick, 1)[0]!, raw: '', value: null, marks: ['silent'], currentMa: null },
        ],
        events:
          tick % 7 === 0
            ? [{ ...exampleEvent('a "quoted" word, 25 \u00b0C\n'), data: { a: 1.5, b: 'x' } }]
            : [],
        points: tick === 20 ? [examplePoint] : [],
      })
    file.finish('complete', 'done')
    const head = file.head()
    file.close()
    expect(read(path)).toMatchObject({ status: 0, stdout: `${head} 250\n` })
    const db = new Database(path)
    db.exec("DROP TRIGGER log_no_update; UPDATE log SET raw = 'x' WHERE seq = 101")
    db.close()
    expect(read(path)).toMatchObject({ status: 1, stdout: 'batch 21 does not fit\n' })
  })
})
