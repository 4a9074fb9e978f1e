import { existsSync, mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it, onTestFinished } from 'vitest'
import { SessionReader } from '../../main/store/reader.ts'
import { createSessionFile } from '../../main/store/session-file.ts'
import { stretchStatistics } from '../../main/store/stretch-statistics.ts'
import { verifySession } from '../../main/store/verify.ts'
import { exampleClock, exampleInfo, exampleSetup, START_UTC_US, scan, temporaryFolder } from './example.ts'

function start() {
  const folder = temporaryFolder()
  const path = join(folder, 'a.stillpoint')
  const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
  file.database.pragma('synchronous = OFF')
  for (let tick = 0; tick < 20_000; tick += 200)
    file.commit({ readings: Array.from({ length: 200 }, (_, i) => scan(tick + i, 4)).flat() })
  onTestFinished(() => file.close())
  const reader = new SessionReader()
  onTestFinished(() => reader.close())
  return { folder, path, file, reader }
}

describe('SessionReader', () => {
  it('answers as the file itself does, also about what was committed since', async () => {
    const { path, file, reader } = start()
    const query = { channel: 'ch2', buckets: 100 }
    expect(await reader.pictures().overview(path, query)).toEqual(file.overview(query))
    file.commit({ readings: scan(20_000, 4) })
    const overview = await reader.pictures().overview(path, query)
    expect(overview.n.reduce((sum, n) => sum + n, 0)).toBe(20_001)
    const some = { channel: 'ch2', fromUtcUs: START_UTC_US + 5_000_000, most: 25_000 }
    const columns = await reader.pictures().readings(path, some)
    const rows = file.readings(some)
    expect([...columns.seq]).toEqual(rows.map(({ seq }) => seq))
    expect([...columns.value]).toEqual(rows.map(({ value }) => Number(value)))
    expect(columns.raw).toEqual(rows.map(({ raw }) => raw))
    expect(await reader.long().verify(path, {})).toEqual(verifySession(path))
    const stretch = { channel: 'ch2', quantity: 'raw', fromUtcUs: START_UTC_US + 5_000_000 } as const
    expect(await reader.pictures().statistics(path, stretch)).toEqual(stretchStatistics(file, stretch))
  })

  it('exports and backs up while the loop of the caller goes on', async () => {
    const { folder, path, file, reader } = start()
    mkdirSync(join(folder, 'second'))
    let turns = 0
    const turning = setInterval(() => {
      turns++
      file.commit({ readings: scan(30_000 + turns, 4) })
    }, 2)
    const [table, copy] = await Promise.all([
      reader.long().export(path, { format: 'csv', out: join(folder, 'a.csv') }),
      reader.long().backup(path, join(folder, 'second')),
    ])
    clearInterval(turning)
    expect(turns).toBeGreaterThan(20)
    expect(table.readings).toBeGreaterThanOrEqual(80_000)
    expect(verifySession(copy.path)).toMatchObject({ whole: true, readings: copy.readings, head: copy.head })
    await expect(reader.long().backup(path, join(folder, 'nowhere'))).rejects.toThrow(/Is its disk connected/)
  })

  it('gives up what is no longer wanted, waiting or running, and answers what comes after', async () => {
    const { folder, path, reader } = start()
    const stop = new AbortController()
    const out = join(folder, 'a.csv')
    const running = reader.long(stop.signal).export(path, { format: 'csv', out })
    const waiting = reader.long(stop.signal).verify(path, {})
    setTimeout(() => stop.abort(new Error('window closed')), 50)
    await expect(running).rejects.toThrow('window closed')
    await expect(waiting).rejects.toThrow('window closed')
    await expect(
      reader.pictures(stop.signal).overview(path, { channel: 'ch1', buckets: 10 }),
    ).rejects.toThrow('window closed')
    expect((await reader.long().verify(path, {})).whole).toBe(true)
    expect(existsSync(out)).toBe(false)
  })

  it('passes refusals on with their code', async () => {
    const { folder, reader } = start()
    await expect(
      reader.pictures().overview(join(folder, 'none'), { channel: 'ch1', buckets: 10 }),
    ).rejects.toMatchObject({
      code: 'not-found',
    })
  })
})
