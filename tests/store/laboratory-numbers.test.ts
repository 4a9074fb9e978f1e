import { describe, expect, it } from 'vitest'
import { Settings } from '../../app/contract/settings.ts'
import { postgresMissing } from './forward-servers.ts'
import { laboratoryServer, TestBench, until } from './laboratory-bench.ts'

const SLOW = 120_000
const YEAR = new Date().getUTCFullYear()

function inLaboratory(bench: TestBench, url: string): void {
  const settings = Settings.parse({
    laboratory: { name: 'Hall', address: [], country: 'XX' },
    certificatePattern: 'LAB-{year}-{number:4}',
    sharedRegister: { url, bench: bench.name },
  })
  bench.store.saveSettings(settings, 'A. Person')
  bench.exchange.wake()
}

const stocked = (bench: TestBench) =>
  Number(bench.store.database.prepare('SELECT count(*) FROM stock').pluck().get())
const give = (bench: TestBench, session: string, n: number) =>
  Object.values(
    bench.store.giveCertificateNumbers(
      session,
      Array.from({ length: n }, (_, i) => `t${i}`),
      'A. Person',
    ),
  )

describe('numbers of certificates of several benches', () => {
  it(
    'are never given twice, also while the database is away, and the database says who gave which',
    async (context) => {
      if (postgresMissing) return context.skip(postgresMissing)
      const server = await laboratoryServer()
      const names = ['Bench 1', 'Bench 2', 'Bench 3']
      const benches = names.map((name) => new TestBench(name, server.url))
      for (const bench of benches) inLaboratory(bench, server.url)
      await until(() => benches.every((bench) => stocked(bench) >= 20))
      const given = benches.flatMap((bench) => give(bench, 's1', 3))
      await until(async () => (await counted()) === 9)
      await server.stop()
      for (const bench of benches) given.push(...give(bench, 's2', 7))
      const [first] = benches
      given.push(...give(first!, 's3', 10))
      expect(() => give(first!, 's4', 1)).toThrow(/No certificate number that is kept for this bench is left/)
      // Whoever has one keeps it.
      expect(give(first!, 's1', 3)).toEqual(given.slice(0, 3))
      expect(new Set(given).size).toBe(given.length)
      await server.answer()
      await until(async () => (await counted()) === given.length)
      await until(() => stocked(first!) >= 40)
      given.push(...give(first!, 's4', 1))
      expect(new Set(given).size).toBe(given.length)
      async function counted(): Promise<number> {
        const [row] = await server.query(
          'SELECT count(*)::int AS n FROM stillpoint_laboratory.number WHERE session IS NOT NULL',
        )
        return Number(row!.n)
      }
    },
    SLOW,
  )

  it(
    'given twice before two benches became one laboratory are told by name',
    async (context) => {
      if (postgresMissing) return context.skip(postgresMissing)
      const server = await laboratoryServer()
      await server.stop()
      const one = new TestBench('Bench 1', server.url)
      const two = new TestBench('Bench 2', server.url)
      for (const bench of [one, two]) {
        bench.store.saveSettings(
          Settings.parse({
            laboratory: { name: 'Hall', address: [], country: 'XX' },
            certificatePattern: 'LAB-{year}-{number:4}',
          }),
          'A. Person',
        )
        expect(give(bench, 's1', 2)).toEqual([`LAB-${YEAR}-0001`, `LAB-${YEAR}-0002`])
        inLaboratory(bench, server.url)
      }
      await server.answer()
      const troubles = () => [one, two].flatMap(({ exchange }) => exchange.state.troubles)
      await until(() => troubles().length === 2)
      expect(troubles()[0]).toMatch(/Certificate number LAB-\d+-0001 .* was given at another bench too/)
      await until(() => [one, two].every((bench) => stocked(bench) >= 20))
      expect(give(one, 's2', 1)).not.toEqual(give(two, 's2', 1))
    },
    SLOW,
  )

  it(
    'takes what the laboratory decides over to every bench, and leaves each what is its own',
    async (context) => {
      if (postgresMissing) return context.skip(postgresMissing)
      const server = await laboratoryServer()
      const one = new TestBench('Bench 1', server.url)
      inLaboratory(one, server.url)
      await one.upToDate()
      const two = new TestBench('Bench 2', server.url)
      await until(() => two.store.records.one('laboratory', 'laboratory') !== undefined)
      two.store.saveSettings(
        Settings.parse({
          ...two.store.records.one('laboratory', 'laboratory'),
          backupFolder: '/elsewhere',
          measurerMaySign: false,
          sharedRegister: { url: server.url, bench: 'Bench 2' },
        }),
        'A. Person',
      )
      two.exchange.wake()
      await until(() => one.store.settings()?.measurerMaySign === false)
      expect(one.store.settings()).toMatchObject({ backupFolder: null, sharedRegister: { bench: 'Bench 1' } })
      expect(two.store.settings()).toMatchObject({ backupFolder: '/elsewhere', laboratory: { name: 'Hall' } })
    },
    SLOW,
  )
})
