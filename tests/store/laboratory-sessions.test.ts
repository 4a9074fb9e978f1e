import { existsSync, mkdirSync, readFileSync, truncateSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { openForWriting } from '../../main/store/open-for-writing.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { verifySession } from '../../main/store/verify.ts'
import { exampleClock, exampleEvent, examplePoint, scan } from './example.ts'
import { postgresMissing } from './forward-servers.ts'
import { beginExample, MINUTE } from './forward-station.ts'
import { laboratoryServer, TestBench, until } from './laboratory-bench.ts'

const SLOW = 120_000

/** A session of a bench, of the same minute as every other's, that has ended. */
function measure(bench: TestBench, readings: number): string {
  const { file, id } = beginExample(bench.store)
  file.commit({
    readings: Array.from({ length: readings }, (_, i) => scan(i, 1)).flat(),
    events: [exampleEvent('begun')],
    points: [examplePoint],
  })
  file.finish('complete', `ended at ${bench.name}`)
  bench.store.registerSession(file)
  file.close()
  bench.exchange.wake()
  return id
}

function annotate(bench: TestBench, id: string, words: string): void {
  const file = openForWriting(bench.store.sessionPath(id), exampleClock(MINUTE + 3600e6))
  file.annotate('A. Person', words)
  bench.store.registerSession(file)
  file.close()
  bench.exchange.wake()
}

function notes(bench: TestBench, id: string): string[] {
  const file = openSessionFile(bench.store.sessionPath(id), { mode: 'read' })
  const words = file.events({ kinds: ['note'] }).map((event) => event.words)
  file.close()
  return words
}

const paperOf = (bench: TestBench, id: string, name: string) =>
  join(bench.store.folder, 'certificates', id, name)

/** Leaves a file as a signer does, with the number of its certificate. */
function sign(bench: TestBench, id: string, name: string, text: string): void {
  bench.store.giveCertificateNumbers(id, ['t-1'], bench.name)
  mkdirSync(dirname(paperOf(bench, id, name)), { recursive: true })
  writeFileSync(paperOf(bench, id, name), text)
  bench.exchange.wake()
}

function paper(bench: TestBench, id: string, name = 'T-1.pdf'): string | undefined {
  const path = paperOf(bench, id, name)
  return existsSync(path) ? readFileSync(path, 'utf8') : undefined
}

describe('signed files of several benches', () => {
  it(
    'come with their session, later stamps too, and what two benches signed stays with each',
    async (context) => {
      if (postgresMissing) return context.skip(postgresMissing)
      const server = await laboratoryServer()
      const told: string[] = []
      const one = new TestBench('Bench 1', server.url, undefined, { onDidTake: (what) => told.push(what) })
      const two = new TestBench('Bench 2', server.url)
      const id = measure(two, 10)
      await until(() => one.store.sessions().length === 1)
      // Who shows the list hears that it has grown, though it is by a single one.
      await until(() => told.includes('sessions'), 10)
      await until(
        async () => (await server.query('SELECT head FROM stillpoint_laboratory.file')).length === 1,
      )
      // Signed at the one that did not measure it; what was signed goes back, and the stamp that came later as well.
      await one.exchange.bring(id)
      // What is too large for a signed file lies beside it and stays where it is.
      sign(one, id, 'film.pdf', '')
      truncateSync(paperOf(one, id, 'film.pdf'), (32 << 20) + 1)
      sign(one, id, 'T-1.pdf', 'signed')
      await until(() => paper(two, id) === 'signed')
      sign(one, id, 'T-1.pdf', 'signed and stamped')
      await until(() => paper(two, id) === 'signed and stamped')
      // A certificate that was read in at one bench is at every bench.
      sign(two, 'in', 'a1b2.xml', '<dcc/>')
      await until(() => paper(one, 'in', 'a1b2.xml') === '<dcc/>')
      // Both sign the same while they do not hear of each other.
      await server.stop()
      sign(one, id, 'T-2.pdf', 'by the first')
      sign(two, id, 'T-2.pdf', 'by the second')
      await server.answer()
      const clash = () =>
        [one, two].flatMap(({ exchange }) =>
          exchange.state.troubles.filter((words) => /T-2.pdf of .* was signed here and at Bench/.test(words)),
        )
      await until(() => clash().length === 1)
      expect([paper(one, id, 'T-2.pdf'), paper(two, id, 'T-2.pdf')]).toEqual([
        'by the first',
        'by the second',
      ])
      // A third bench gets them with the session, and takes over none that did not come whole.
      await server.query("UPDATE stillpoint_laboratory.paper SET bytes = 'x' WHERE name = 'T-2.pdf'")
      const three = new TestBench('Bench 3', server.url)
      await until(() => three.store.sessions().length === 1)
      await three.upToDate()
      await three.exchange.bring(id)
      expect(paper(three, id)).toBe('signed and stamped')
      expect(paper(three, id, 'T-2.pdf')).toBeUndefined()
      expect(existsSync(paperOf(three, id, 'film.pdf'))).toBe(false)
      await until(() =>
        three.exchange.state.troubles.some((words) => /T-2.pdf .* did not come whole/.test(words)),
      )
    },
    SLOW,
  )
})

describe('sessions of several benches', () => {
  it(
    'are listed and found everywhere, come whole where they are opened, and what is added goes back',
    async (context) => {
      if (postgresMissing) return context.skip(postgresMissing)
      const server = await laboratoryServer()
      const one = new TestBench('Bench 1', server.url)
      const two = new TestBench('Bench 2', server.url)
      // Both began in the same minute, so both call it the same.
      const id = measure(two, 40)
      expect(measure(one, 20)).toBe(id)
      await until(() => one.store.sessions().length === 2 && two.store.sessions().length === 2)
      const [far] = one.store.sessions().filter(({ bench }) => bench !== undefined)
      expect(far).toMatchObject({ bench: 'Bench 2', away: true, readings: 40 })
      expect(far!.info.id).toBe(`${id}.${two.store.station.slice(0, 8)}`)
      expect(one.store.isAway(far!.info.id)).toBe(true)
      expect(one.store.sessionIds('ended')).toEqual([id])

      await until(
        async () => (await server.query('SELECT head FROM stillpoint_laboratory.file')).length === 2,
      )
      await one.upToDate()
      await one.exchange.bring(far!.info.id)
      expect(one.store.isAway(far!.info.id)).toBe(false)
      const there = openSessionFile(two.store.sessionPath(id), { mode: 'read' })
      const here = openSessionFile(one.store.sessionPath(far!.info.id), { mode: 'read' })
      expect(here.head()).toBe(there.head())
      expect(here.since(0, 200)).toEqual(there.since(0, 200))
      for (const file of [here, there]) file.close()

      annotate(one, far!.info.id, 'seen at the first bench')
      await until(() => notes(two, id).includes('seen at the first bench'))
      expect(notes(one, id)).toEqual(['begun'])
      annotate(two, id, 'and at the second')
      await until(() => notes(one, far!.info.id).includes('and at the second'))
      for (const [bench, session] of [
        [one, far!.info.id],
        [two, id],
      ] as const) {
        const anchors = bench.store.anchors(session)
        expect(verifySession(bench.store.sessionPath(session), { anchors })).toMatchObject({ whole: true })
        expect(bench.exchange.state.troubles).toEqual([])
      }
    },
    SLOW,
  )

  it(
    'added to at two benches at once are told of, and neither loses a word',
    async (context) => {
      if (postgresMissing) return context.skip(postgresMissing)
      const server = await laboratoryServer()
      const one = new TestBench('Bench 1', server.url)
      const two = new TestBench('Bench 2', server.url)
      const id = measure(two, 10)
      await until(() => one.store.sessions().length === 1)
      await until(
        async () => (await server.query('SELECT head FROM stillpoint_laboratory.file')).length === 1,
      )
      await one.upToDate()
      await one.exchange.bring(id)
      await server.stop()
      annotate(one, id, 'said at the first')
      annotate(two, id, 'said at the second')
      await server.answer()
      await until(() => [one, two].some(({ exchange }) => exchange.state.troubles.length > 0))
      const troubles = [one, two].flatMap(({ exchange }) => exchange.state.troubles)
      expect(troubles[0]).toMatch(/added to here and at another bench at the same time/)
      expect([notes(one, id), notes(two, id)]).toEqual([
        ['begun', 'said at the first'],
        ['begun', 'said at the second'],
      ])
    },
    SLOW,
  )

  it(
    'are not taken over where the database does not have what was given',
    async (context) => {
      if (postgresMissing) return context.skip(postgresMissing)
      const server = await laboratoryServer()
      const one = new TestBench('Bench 1', server.url)
      const two = new TestBench('Bench 2', server.url)
      const id = measure(two, 10)
      await until(() => one.store.sessions().length === 1)
      expect(() => new TestBench('Bench 3', server.url).exchange.bring(id)).toThrow(
        /not here yet. Connecting/,
      )
      await until(
        async () => (await server.query('SELECT head FROM stillpoint_laboratory.file')).length === 1,
      )
      await server.query(
        'UPDATE stillpoint_laboratory.file_piece SET bytes = set_byte(bytes, length(bytes) / 2, get_byte(bytes, length(bytes) / 2) # 1)',
      )
      await one.upToDate()
      await expect(one.exchange.bring(id)).rejects.toThrow(/did not come whole/)
      expect(one.store.isAway(id)).toBe(true)
      await server.query('DELETE FROM stillpoint_laboratory.file')
      await expect(one.exchange.bring(id)).rejects.toThrow(/still being measured at Bench 2/)
    },
    SLOW,
  )
})
