import { cpSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { RealClock } from '../../main/station/clocks/real.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { temporaryFolder } from './example.ts'
import { postgresMissing } from './forward-servers.ts'
import { laboratoryServer, same, TestBench, until } from './laboratory-bench.ts'

const SLOW = 120_000

describe('one register of several benches', () => {
  it(
    'goes both ways, over a database that is away, frozen and back, and nothing is lost or there twice',
    async (context) => {
      if (postgresMissing) return context.skip(postgresMissing)
      const server = await laboratoryServer()
      const one = new TestBench('Bench 1', server.url)
      one.save('t1', 'entered before the others came')
      const two = new TestBench('Bench 2', server.url)
      const three = new TestBench('Bench 3', server.url)
      const all = [one, two, three]
      await until(() => all.every(({ exchange }) => exchange.benches.length === 2))
      await until(() => two.note('t1') !== undefined && three.note('t1') !== undefined)
      two.save('t1', 'seen by the second')
      await until(() => one.note('t1') === 'seen by the second')
      // Who, where and why stand with it.
      expect(one.store.records.versions('thermometer', 't1').at(-1)).toMatchObject({
        who: 'Bench 2',
        station: two.store.station,
      })
      expect(one.store.ledgerLines({ subject: 't1' }).rows[0]).toMatchObject({
        what: 'thermometer saved',
        who: 'Bench 2',
        why: expect.stringMatching(/at Bench 2, \d{4}-/),
      })

      await server.stop()
      await until(() => all.every(({ exchange }) => exchange.state.state === 'away'))
      expect(one.exchange.state.words).toMatch(/works on by itself and catches up/)
      for (const bench of all) bench.save(`of ${bench.name}`, 'entered while the database was away')
      await server.answer()
      await same(all)
      expect(one.store.records.ids('thermometer')).toHaveLength(4)

      server.freeze()
      for (const bench of all) bench.save(`of ${bench.name}`, 'entered while the database was frozen')
      await new Promise((resolve) => setTimeout(resolve, 500))
      server.thaw()
      await until(() => all.every((b) => all.every((o) => b.note(`of ${o.name}`)?.endsWith('frozen'))))
      await same(all)
      const [{ n }] = (await server.query(
        'SELECT count(*)::int AS n FROM stillpoint_laboratory.version',
      )) as [{ n: number }]
      expect(n).toBe(8)
      await expect(server.query(`UPDATE stillpoint_laboratory.version SET body = ''`)).rejects.toThrow(
        /added to and never changed/,
      )
    },
    SLOW,
  )

  it(
    'shows two changes of one version side by side on both, the same holds on both, and one decides',
    async (context) => {
      if (postgresMissing) return context.skip(postgresMissing)
      const server = await laboratoryServer()
      const one = new TestBench('Bench 1', server.url)
      const two = new TestBench('Bench 2', server.url)
      one.save('t1', 'as it came')
      await until(() => two.note('t1') !== undefined)
      await server.stop()
      two.save('t1', 'said by the second')
      two.save('t1', 'said by the second, again')
      one.save('t1', 'said by the first')
      one.save('t2', 'no dispute about this one')
      await server.answer()
      await same([one, two])
      for (const { store } of [one, two]) {
        expect(store.records.undecided()).toEqual([{ kind: 'thermometer', id: 't1' }])
        expect(store.records.sides('thermometer', 't1').map(({ who, whole }) => [who, whole.note])).toEqual([
          ['Bench 2', 'said by the second, again'],
          ['Bench 1', 'said by the first'],
        ])
        expect(store.records.one('thermometer', 't1')?.note).toBe('said by the second, again')
      }
      const [, other] = two.store.records.sides('thermometer', 't1')
      two.store.records.decide('thermometer', 't1', other!.hash, { who: 'K. Person', why: 'asked the owner' })
      two.exchange.wake()
      await until(() => one.note('t1') === 'said by the first')
      await same([one, two])
      for (const { store } of [one, two]) {
        expect(store.records.undecided()).toEqual([])
        expect(store.records.sides('thermometer', 't1')).toHaveLength(1)
        expect(() => store.records.decide('thermometer', 't1', other!.hash, { who: 'x', why: '' })).toThrow(
          /nothing to decide/,
        )
      }
      one.save('t1', 'and on')
      await until(() => two.note('t1') === 'and on')
      await same([one, two])
    },
    SLOW,
  )

  it(
    'asks nobody where both said the same, and the next save follows both',
    async (context) => {
      if (postgresMissing) return context.skip(postgresMissing)
      const server = await laboratoryServer()
      await server.stop()
      const one = new TestBench('Bench 1', server.url)
      const two = new TestBench('Bench 2', server.url)
      one.save('t1', 'the same words')
      two.save('t1', 'the same words')
      await server.answer()
      await until(() => one.store.records.sides('thermometer', 't1').length === 2)
      await same([one, two])
      expect(one.store.records.undecided()).toEqual([])
      one.save('t1', 'other words')
      await until(() => two.note('t1') === 'other words')
      expect(two.store.records.sides('thermometer', 't1')).toHaveLength(1)
    },
    SLOW,
  )

  it(
    'tells a copied folder that it is a copy, and lets neither add a word until somebody says which',
    async (context) => {
      if (postgresMissing) return context.skip(postgresMissing)
      const server = await laboratoryServer()
      const one = new TestBench('Bench 1', server.url)
      one.save('t1', 'x')
      await one.upToDate()
      await one.close()
      const folder = join(temporaryFolder(), 'copy')
      cpSync(one.folder, folder, { recursive: true })
      await one.reopen()
      await one.upToDate()
      const copy = new TestBench('Copy', server.url, folder)
      await until(() => copy.exchange.state.state === 'refused')
      expect(copy.exchange.state.words).toMatch(/with this one's identity is connected/)
      await one.close()
      await until(() => copy.exchange.state.words.includes('is a copy of that station'))
      copy.save('t2', 'said by the copy')
      await new Promise((resolve) => setTimeout(resolve, 300))
      expect(await server.query('SELECT hash FROM stillpoint_laboratory.version')).toHaveLength(1)

      // The copy is said to be one, and works beside the first.
      const act = { who: 'A. Person', why: 'copied for the second bench' }
      await copy.close()
      const between = openStationStore(folder, { clock: new RealClock() })
      between.renewIdentity(act)
      between.close()
      await copy.reopen()
      await one.reopen()
      await until(() => one.note('t2') === 'said by the copy')
      expect(copy.store.station).not.toBe(one.store.station)
      await one.close()

      // Or it is what is left of the station, and goes on as it.
      const second = join(temporaryFolder(), 'copy')
      cpSync(one.folder, second, { recursive: true })
      await one.reopen()
      await one.upToDate()
      await one.close()
      const left = openStationStore(second, { clock: new RealClock() })
      left.takeIdentity(act)
      left.close()
      const restored = new TestBench('Bench 1', server.url, second)
      await restored.upToDate()
      await one.reopen()
      await restored.close()
      await until(() => one.exchange.state.words.includes('taken back from a backup'))
    },
    SLOW,
  )

  it(
    'tells of a clock that is wrong by an hour, and of a database of another form, in words',
    async (context) => {
      if (postgresMissing) return context.skip(postgresMissing)
      const server = await laboratoryServer()
      const one = new TestBench('Bench 1', server.url, undefined, { wrongUs: 3600e6 })
      await one.upToDate()
      expect(one.exchange.state.troubles).toEqual([
        expect.stringMatching(/clock of this station is 60 min ahead/),
      ])
      await server.query('UPDATE stillpoint_laboratory.laboratory SET form = 2')
      const two = new TestBench('Bench 2', server.url)
      two.save('t1', 'kept here')
      await until(() => two.exchange.state.state === 'refused')
      expect(two.exchange.state.words).toMatch(/has form 2, this station knows form 1: bring this station up/)
      await server.query('UPDATE stillpoint_laboratory.laboratory SET form = 1')
      await until(() => one.note('t1') === 'kept here')
    },
    SLOW,
  )

  it(
    'gives a database that was taken back from an older copy what it lacks',
    async (context) => {
      if (postgresMissing) return context.skip(postgresMissing)
      const server = await laboratoryServer()
      const one = new TestBench('Bench 1', server.url)
      const two = new TestBench('Bench 2', server.url)
      one.save('t1', 'old')
      await until(() => two.note('t1') === 'old')
      one.save('t1', 'new')
      one.save('t2', 'new')
      await until(() => two.note('t2') === 'new')
      await one.close()
      await two.close()
      await server.query('ALTER TABLE stillpoint_laboratory.version DISABLE TRIGGER version_stays')
      await server.query('DELETE FROM stillpoint_laboratory.version WHERE seq > 1')
      await server.query('ALTER SEQUENCE stillpoint_laboratory.version_seq_seq RESTART WITH 2')
      await two.reopen()
      two.save('t3', 'after it was taken back')
      await one.reopen()
      await same([one, two])
      expect(await server.query('SELECT hash FROM stillpoint_laboratory.version')).toHaveLength(4)
    },
    SLOW,
  )
})
