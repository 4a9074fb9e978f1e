import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { RIGHTS } from '../../app/records/person.ts'
import { Attempts } from '../../main/host/people/attempts.ts'
import { PeopleDesk } from '../../main/host/people/people-desk.ts'
import { openStationStore, type StationStore } from '../../main/store/station-store.ts'
import { type EmptyHost, openEmptyHost } from './empty-host.ts'
import { enterKeeper, KEEPER } from './keeper.ts'
import { type Client, refusalOf, Windows } from './window.ts'

let host: EmptyHost
const windows = new Windows()
const nobody = (): Client => windows.open(host.services, 'operator', 'nobody')
const keeper = (): Client => windows.open(host.services, 'operator')

beforeAll(async () => {
  host = await openEmptyHost()
})
afterAll(async () => {
  windows.close()
  await host.close()
})

describe('people of a station', () => {
  it('lets whoever tries the lab in a box do so without a question, until somebody is entered', async () => {
    const client = nobody()
    expect(await client.people.me()).toEqual({ onlooker: false, person: null, anybody: false })
    expect((await refusalOf(client.plan.remove({ id: 'x' }))).code).toBe('SIGN_IN')
    await client.bench.startLab({ seed: 2, scenario: 'quiet' })
    expect((await client.people.me()).person).toMatchObject({ name: 'Practice', practice: true })
    const { session } = await client.run.record({})
    await client.run.note({ words: 'as practice' })
    await client.run.stop({})
    await host.hosted.station.finished
    const events = await client.history.events({ session })
    expect(events.rows.find(({ kind }) => kind === 'note')).toMatchObject({ who: 'Practice' })
  })

  it('is entered first by whoever is first, and asks for a password worth the name', async () => {
    const client = nobody()
    const short = await refusalOf(client.people.enterFirst({ name: KEEPER.name, password: 'eleven char' }))
    expect(short.words).toMatch(/at least 12 characters/)
    const { person, token } = await client.people.enterFirst(KEEPER)
    expect(person).toMatchObject({ name: 'C. Keeper', rights: [...RIGHTS] })
    expect((await client.people.me()).person).toEqual(person)
    expect(
      (await refusalOf(client.people.enterFirst({ name: 'Second', password: 'twelve letters' }))).code,
    ).toBe('REFUSED')
    // Practice is over, at every window.
    expect((await refusalOf(nobody().run.note({ words: 'x' }))).code).toBe('SIGN_IN')
    const again = nobody()
    expect((await again.people.comeBack({ token })).person).toEqual(person)
    expect((await again.people.comeBack({ token: 'made up' })).person).toEqual(person)
    await again.people.signOut({ token })
    expect((await again.people.me()).person).toBeNull()
    expect((await nobody().people.comeBack({ token })).person).toBeNull()
  })

  it('lets in with the right password only, tells wrong ones in the ledger, and shows it to nobody', async () => {
    const client = nobody()
    expect((await refusalOf(client.people.signIn({ ...KEEPER, password: 'not the right one' }))).code).toBe(
      'FORBIDDEN',
    )
    expect((await refusalOf(client.people.signIn({ name: 'N. Body', password: KEEPER.password }))).code).toBe(
      'FORBIDDEN',
    )
    const { person } = await client.people.signIn({ name: ' c. keeper ', password: KEEPER.password })
    expect(person.name).toBe('C. Keeper')
    const told = host.hosted.store.ledger({}).filter(({ what }) => what === 'sign-in refused')
    expect(told.map(({ why }) => why)).toEqual([
      "A wrong password was given. For a name that is not known, at the station's own computer.",
      "A wrong password was given. For C. Keeper, at the station's own computer.",
    ])
    expect(JSON.stringify(host.hosted.store.ledger({ most: 5000 }))).not.toMatch(
      /not the right one|a long enough one|N\. Body/,
    )
  })

  it('gives each what the person may, keeps names for good, and closes who leaves', async () => {
    const client = keeper()
    await client.people.save({
      name: 'O. Perator',
      rights: ['operate'],
      password: 'twelve letters',
      why: 'new',
    })
    const signing = nobody()
    await signing.people.signIn({ name: 'O. Perator', password: 'twelve letters' })
    await signing.plan.save({
      plan: {
        id: 'p',
        name: 'P',
        setpoints: [{ celsius: 20 }],
        settling: { windowS: 60, driftMkPerMin: 1, spreadMk: 1, bandK: 1, holdS: 1 },
      },
    })
    const { words } = await refusalOf(signing.people.list())
    expect(words).toMatch(/^Only who may see to the station.* O\. Perator may not\./)
    const bench = (await signing.bench.get())!
    const hot = { ...bench, bath: { ...bench.bath!, highC: 2000 } }
    expect((await refusalOf(signing.bench.save({ bench: hot }))).words).toMatch(/limits and its fluid/)
    const { fluid: _fluid, ...dry } = bench.bath!
    expect((await refusalOf(signing.bench.save({ bench: { ...bench, bath: dry } }))).code).toBe('FORBIDDEN')
    await signing.bench.save({ bench: { ...bench, name: 'Another name' } })
    expect(host.hosted.store.ledger({ subject: bench.id })[0]).toMatchObject({ who: 'O. Perator' })

    const [, perator] = (await client.people.list()).filter(({ practice }) => !practice)
    const change = { id: perator!.id, name: perator!.name, rights: perator!.rights }
    expect((await refusalOf(client.people.save({ ...change, name: 'Another' }))).words).toMatch(
      /A name stays/,
    )
    expect(
      (await refusalOf(client.people.save({ name: 'o. perator', rights: [], password: 'twelve letters' })))
        .words,
    ).toMatch(/already/)
    await client.people.save({ ...change, closed: true, why: 'has left' })
    expect((await refusalOf(signing.plan.remove({ id: 'p' }))).code).toBe('SIGN_IN')
    expect(
      (await refusalOf(nobody().people.signIn({ name: 'O. Perator', password: 'twelve letters' }))).code,
    ).toBe('FORBIDDEN')
    expect((await client.people.list()).find(({ id }) => id === perator!.id)?.closed).toMatch(
      /^2026-03-\d\d$/,
    )
    const own = (await client.people.me()).person!
    expect(
      (await refusalOf(client.people.save({ id: own.id, name: own.name, rights: ['operate'] }))).words,
    ).toMatch(/Somebody must be able/)
  })

  it('changes a password by its person, after which other windows have to sign in again', async () => {
    const client = nobody()
    const { token } = await client.people.signIn({ ...KEEPER, stay: true })
    const next = 'another long one'
    expect((await refusalOf(client.people.changePassword({ old: 'wrong old one', next }))).code).toBe(
      'FORBIDDEN',
    )
    const changed = await client.people.changePassword({ old: KEEPER.password, next })
    expect((await nobody().people.comeBack({ token })).person).toBeNull()
    expect((await nobody().people.comeBack({ token: changed.token })).person?.name).toBe('C. Keeper')
    await client.people.changePassword({ old: next, next: KEEPER.password })
  })

  it('keeps an onlooker out of it', async () => {
    const client = windows.open(host.services, 'watcher')
    expect(await client.people.me()).toEqual({ onlooker: true, person: null, anybody: true })
    const { token } = await nobody().people.signIn({ ...KEEPER, stay: true })
    expect((await client.people.comeBack({ token })).person).toBeNull()
    expect((await refusalOf(client.people.signIn(KEEPER))).code).toBe('FORBIDDEN')
  })

  it('never runs its hashing on the loop that measures: no silence above 50 ms beside twenty tries', async () => {
    const desk = new PeopleDesk(host.services.store)
    let longest = 0
    let last = performance.now()
    const beat = setInterval(() => {
      longest = Math.max(longest, performance.now() - last)
      last = performance.now()
    }, 5)
    const tries = Array.from({ length: 20 }, (_, i) =>
      desk.check('N. Body', 'wrong', `10.0.0.${i}`).catch(() => undefined),
    )
    await Promise.race([Promise.all(tries), new Promise((resolve) => setTimeout(resolve, 1500))])
    clearInterval(beat)
    expect(longest).toBeLessThan(150)
  })
})

describe('Attempts', () => {
  it('holds wrong answers back the longer the more there were for the person, from wherever', () => {
    const attempts = new Attempts(() => 0)
    const held = Array.from({ length: 10 }, () => attempts.wrong('c-keeper').holdMs)
    expect(held).toEqual([0, 0, 1000, 2000, 4000, 8000, 16_000, 30_000, 30_000, 30_000])
    expect(attempts.wrong('another').holdMs).toBe(0)
  })

  it('lets one attempt from a place wait at a time, and none wait for somebody else’s', () => {
    const attempts = new Attempts()
    const answered = attempts.begin('10.0.0.9')!
    expect(attempts.begin('10.0.0.9')).toBeUndefined()
    expect(attempts.begin('10.0.0.8')).toBeTypeOf('function')
    answered()
    expect(attempts.begin('10.0.0.9')).toBeTypeOf('function')
  })

  it('tells the ledger ten times an hour, and then how many more there were', () => {
    let now = 0
    const attempts = new Attempts(() => now)
    const told = Array.from({ length: 50 }, () => attempts.wrong('c-keeper').words).filter(Boolean)
    expect(told).toHaveLength(10)
    now = 3_700_000
    expect(attempts.wrong('c-keeper').words).toBe(
      'A wrong password was given. 40 more were made in the hour before.',
    )
  })
})

describe('an older station', () => {
  let folder: string
  const clock = { now: () => ({ utcUs: Date.UTC(2026, 2, 1) * 1000, monoUs: 0 }) }
  const open = (): StationStore => openStationStore(folder, { clock })
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'stillpoint-people-'))
  })
  afterAll(() => rmSync(folder, { recursive: true, force: true }))

  it('makes a person of its custodian, with every right and the same password, and keeps its ledger', async () => {
    let store = open()
    await new PeopleDesk(store).enterFirst('Template', KEEPER.password)
    const { salt, hash } = store.people.passwordOf('template')!
    // As a station of before has it.
    store.database.exec(`DELETE FROM password; DELETE FROM record WHERE kind = 'person'`)
    store.database.prepare('INSERT INTO custodian VALUES (1, ?, ?, ?)').run('A. Custodian', salt, hash)
    const before = store.verifyLedger()
    store.close()
    store = open()
    expect(store.people.open()).toMatchObject([{ name: 'A. Custodian', rights: [...RIGHTS] }])
    expect((await new PeopleDesk(store).check('A. Custodian', KEEPER.password, 'here'))?.name).toBe(
      'A. Custodian',
    )
    expect(store.verifyLedger()).toMatchObject({ whole: true, entries: before.entries + 1 })
    expect(store.database.prepare('SELECT count(*) FROM custodian').pluck().get()).toBe(0)
    store.close()
    for (const name of ['station.db', 'station.db-wal']) {
      try {
        expect(readFileSync(join(folder, name)).includes(KEEPER.password)).toBe(false)
      } catch (fault) {
        if ((fault as NodeJS.ErrnoException).code !== 'ENOENT') throw fault
      }
    }
  })

  it('has its first person again after a restart', async () => {
    const store = open()
    expect(store.people.known).toBe(true)
    await expect(enterKeeper({ people: new PeopleDesk(store) } as never)).rejects.toThrow(
      /knows people already/,
    )
    store.close()
  })
})
