import { closeSync, copyFileSync, openSync, readFileSync, writeSync } from 'node:fs'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import { describe, expect, it } from 'vitest'
import { exportSession } from '../../main/store/export/export.ts'
import { createSessionFile, openSessionFile } from '../../main/store/session-file.ts'
import { surveySession } from '../../main/store/survey.ts'
import { verifySession } from '../../main/store/verify.ts'
import {
  exampleClock,
  exampleEvent,
  exampleInfo,
  exampleSetup,
  scan,
  sharedFolder,
  temporaryFolder,
} from '../store/example.ts'

const SCANS = 3000
const CHANNELS = 4
const PAGE = 4096

function write(path: string): void {
  const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
  for (let tick = 0; tick < SCANS; tick += 20)
    file.commit({
      readings: Array.from({ length: 20 }, (_, i) => scan(tick + i, CHANNELS)).flat(),
      events: [exampleEvent(`scan ${tick}`)],
    })
  file.finish('complete', 'done')
  file.close()
}

/** Writes rubbish over pages of a table. */
function spoil(path: string, table: string, type: 'leaf' | 'internal', share: number): number {
  const db = new Database(path, { readonly: true })
  const pages = db
    .prepare('SELECT pageno FROM dbstat WHERE name = ? AND pagetype = ? ORDER BY pageno')
    .pluck()
    .all(table, type) as number[]
  db.close()
  const spoilt = pages.filter((_, i) => i % Math.round(1 / share) === Math.floor(0.5 / share))
  const fd = openSync(path, 'r+')
  for (const page of spoilt) writeSync(fd, Buffer.alloc(PAGE, 0xa5), 0, PAGE, (page - 1) * PAGE)
  closeSync(fd)
  return spoilt.length
}

describe('a damaged session', () => {
  const whole = join(sharedFolder(), 'whole.stillpoint')
  write(whole)
  const all = Array.from({ length: SCANS }, (_, tick) => scan(tick, CHANNELS)).flat()
  const copy = () => {
    const path = join(temporaryFolder(), 'a.stillpoint')
    copyFileSync(whole, path)
    return path
  }

  it('opens for reading, gives back what can be read, and says what is lost', async () => {
    const path = copy()
    expect(spoil(path, 'log', 'leaf', 0.1)).toBeGreaterThan(5)
    const file = openSessionFile(path, { mode: 'read' })
    const { readable, lost, words } = surveySession(file)
    const lostCount = lost.reduce((sum, { fromSeq, toSeq }) => sum + toSeq - fromSeq + 1, 0)
    expect(readable + lostCount).toBe(all.length)
    expect(readable).toBeGreaterThan(0.8 * all.length)
    expect(lostCount).toBeGreaterThan(0)
    expect(words[0]).toBe(`Readings ${lost[0]!.fromSeq} to ${lost[0]!.toSeq} cannot be read any more.`)
    expect(file.overview({ channel: 'ch2', buckets: 50 }).n.reduce((a, b) => a + b)).toBe(SCANS)
    file.close()

    const out = join(temporaryFolder(), 'a.jsonl')
    const result = await exportSession(path, { format: 'jsonl', out })
    expect(result).toMatchObject({ readings: readable, lost })
    const lines = readFileSync(out, 'utf8').trimEnd().split('\n')
    for (const line of lines) {
      const { seq, utc: _, ...reading } = JSON.parse(line) as { seq: number; utc: string }
      expect(reading).toMatchObject(all[seq - 1]!)
    }
    expect(lines).toHaveLength(readable)
  })

  it('is not written any more, and says so', () => {
    const path = copy()
    spoil(path, 'log', 'leaf', 0.1)
    expect(() => openSessionFile(path, { mode: 'write', clock: exampleClock() })).toThrow(
      /is damaged .* and is not written any more\. It still opens for reading/,
    )
    expect(verifySession(path)).toMatchObject({
      whole: false,
      firstBreak: expect.stringMatching(/SQLite finds the file damaged/),
    })
  })

  it('loses only what lies under a lost page of the tree', () => {
    const path = copy()
    spoil(path, 'log', 'internal', 1)
    const file = openSessionFile(path, { mode: 'read' })
    const { readable, lost } = surveySession(file)
    expect(readable + lost.reduce((sum, { fromSeq, toSeq }) => sum + toSeq - fromSeq + 1, 0)).toBe(all.length)
    file.close()
  })

  it('gives its readings under stand-in names where what they come from is lost, and without marks where those are', () => {
    for (const [table, names] of [
      ['source', ['source 1', 'source 2', 'source 3', 'source 4']],
      ['mark', ['ch1', 'ch2', 'ch3', 'ch4']],
    ] as const) {
      const path = copy()
      spoil(path, table, 'leaf', 1)
      const file = openSessionFile(path, { mode: 'read' })
      const survey = surveySession(file)
      expect(survey.readable, table).toBe(all.length)
      expect(survey.words, table).toHaveLength(1)
      expect(file.since(0, 4).map(({ channel }) => channel)).toEqual(names)
      expect(file.since(0, 4).map(({ raw }) => raw)).toEqual(all.slice(0, 4).map(({ raw }) => raw))
      file.close()
      expect(verifySession(path).whole).toBe(false)
    }
  })

  it('keeps its readings where its head, its events or its chunks are lost', async () => {
    for (const table of ['session', 'event', 'chunk', 'chunk_body', 'chunk_cells', 'working']) {
      const path = copy()
      spoil(path, table, 'leaf', 1)
      let file: ReturnType<typeof openSessionFile>
      try {
        file = openSessionFile(path, { mode: 'read' })
      } catch (fault) {
        throw new Error(`with ${table} lost it does not open: ${String(fault)}`)
      }
      expect(surveySession(file).readable, table).toBe(all.length)
      expect(
        file.overview({ channel: 'ch2', buckets: 50 }).n.reduce((a, b) => a + b),
        table,
      ).toBe(SCANS)
      file.close()
      const result = await exportSession(path, { format: 'csv', out: join(temporaryFolder(), 'a.csv') })
      expect(result.readings, table).toBe(all.length)
    }
  })
})
