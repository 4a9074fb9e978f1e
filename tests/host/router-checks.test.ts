import { mkdirSync } from 'node:fs'
import { dirname } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { buildChain } from '../../app/live/chain.ts'
import type { HostedStation } from '../../main/host/open-station.ts'
import type { Role } from '../../main/host/page/tokens.ts'
import type { Services } from '../../main/host/services.ts'
import { fixtureSession } from '../report/session-fixture.ts'
import { type EmptyHost, openEmptyHost } from './empty-host.ts'
import { enterKeeper, KEEPER } from './keeper.ts'
import { NOTHING_TO_STATE } from './statements.ts'
import { refusalOf, Windows } from './window.ts'

let hosted: HostedStation
let services: Services
let host: EmptyHost
let session: string
const windows = new Windows()

const windowAs = (role: Role, person?: string) => windows.open(services, role, person)
const nobody = () => windowAs('operator', 'nobody')

beforeAll(async () => {
  host = await openEmptyHost(Date.UTC(2026, 2, 20, 8) * 1000)
  ;({ hosted, services } = host)
  await enterKeeper(services)
  session = 'fixture-5'
  const path = hosted.store.sessionPath(session)
  mkdirSync(dirname(path), { recursive: true })
  const made = fixtureSession(path, { seed: 5, setpoints: [0, 25, 50, 75, 100] })
  for (const entry of made.session.setup.register.thermometers)
    hosted.store.saveThermometer(entry, 'test', '')
  for (const entry of made.session.setup.register.resistors) hosted.store.saveResistor(entry, 'test', '')
  for (const entry of made.session.setup.register.instruments) hosted.store.saveInstrument(entry, 'test', '')
  hosted.store.registerSession(made.session)
  made.session.close()
}, 60_000)
afterAll(async () => {
  windows.close()
  await host.close()
})

describe('checks.takeWtp', () => {
  it('takes R(WTP) of the reference and of those under test into the register, for who keeps the records alone', async () => {
    const client = windowAs('operator')
    expect((await refusalOf(nobody().checks.takeWtp({ session, why: '' }))).code).toBe('SIGN_IN')
    const { words } = await client.checks.takeWtp({ session, why: 'after the comparison' })
    expect(words).toMatch(/R\(WTP\) of 2026-03-01 is in the register: Reference SPRT Q-25 25\.4\d+ ohm/)
    const { thermometers } = hosted.store.register()
    const own = thermometers.find((t) => t.id === 'ref-25')!.wtpHistory
    expect(own.at(-1)).toMatchObject({ date: '2026-03-01', session })
    expect(own).toHaveLength(3)
    expect(hosted.store.ledger({ subject: 'ref-25' })[0]).toMatchObject({
      who: 'C. Keeper',
      why: 'after the comparison',
    })
    await client.checks.takeWtp({ session, why: 'once more' })
    const again = hosted.store.register().thermometers.find((t) => t.id === 'ref-25')!
    expect(again.wtpHistory).toHaveLength(3)
  }, 60_000)
})

describe('checks.measuredWtp', () => {
  it('says beforehand what taking R(WTP) would enter, before and after, to anybody who may look', async () => {
    const rows = await windowAs('watcher').checks.measuredWtp({ session })
    const own = rows.find((row) => row.thermometer === 'ref-25')!
    expect(own.beforeOhm).toBeCloseTo(own.afterOhm!, 4)
    expect(Math.abs(own.changeMk!)).toBeLessThan(1)
    const register = await windowAs('watcher').register.some({ thermometers: ['ref-25'] })
    const taken = register.thermometers[0]!.wtpHistory.at(-1)!
    expect({ ohm: own.ohm, uOhm: own.uOhm, date: own.date }).toEqual({
      ohm: taken.ohm,
      uOhm: taken.uOhm,
      date: taken.date,
    })
  }, 60_000)
})

describe('checks.history', () => {
  it('draws the charts of the register for anybody who may look, each with a verdict', async () => {
    const client = windowAs('watcher')
    const rwtp = await client.checks.history({ kind: 'rwtp', id: 'ref-25' })
    expect(rwtp.entries.map((e) => e.date)).toEqual(['2025-06-12', '2025-12-04', '2026-03-01'])
    expect(rwtp.entries.at(-1)!.session).toBe(session)
    expect(rwtp.verdict).toMatch(/No limits yet: 3 entries/)
    const resistor = await client.checks.history({ kind: 'resistor', id: 'rs-100' })
    expect(resistor.entries).toHaveLength(1)
    expect((await client.checks.history({ kind: 'bridge', id: 'rb-8' })).verdict).toBe(
      'There is no entry yet.',
    )
    const { code, words } = await refusalOf(client.checks.history({ kind: 'rwtp', id: 'nowhere' }))
    expect(code).toBe('NOT_FOUND')
    expect(words).toMatch(/no "nowhere" in the register/)
  })

  it('gathers a check thermometer over the sessions it was in', async () => {
    const path = hosted.store.sessionPath('fixture-6')
    // The same night with x2 as a check thermometer that has a calibration.
    const made = fixtureSession(
      path,
      { seed: 6, setpoints: [0, 50, 100], cell: 'none' },
      ({ register, bench, ...rest }, truth) => ({
        ...rest,
        bench: {
          ...bench,
          channels: bench.channels.map((c) => (c.id === 'x2' ? { ...c, role: 'check' as const } : c)),
        },
        register: {
          ...register,
          thermometers: register.thermometers.map((t) =>
            t.id === 'prt-x2'
              ? {
                  ...t,
                  calibrations: [
                    {
                      id: 'own',
                      date: '2025-10-01',
                      certificate: 'Q-2',
                      laboratory: 'Quennick Temperature Laboratory',
                      lowC: -10,
                      highC: 150,
                      conversion: truth.conversions.x2!,
                      atZeroCurrent: true,
                    },
                  ],
                }
              : t,
          ),
        },
      }),
    )
    hosted.store.registerSession(made.session)
    made.session.close()
    const client = windowAs('watcher')
    const chart = await client.checks.history({ kind: 'check-thermometer', id: 'prt-x2' })
    expect(chart.entries.map((e) => e.session)).toEqual(['fixture-6'])
    expect(Math.abs(chart.entries[0]!.value)).toBeLessThan(10)
    expect(chart.entries[0]!.u).toBeGreaterThan(0)
    const far = await client.checks.history({ kind: 'check-thermometer', id: 'prt-x2', celsius: 25 })
    expect(far.entries).toEqual([])
  }, 60_000)
})

describe('checks.enterCalibration', () => {
  it('enters a fit as a calibration once its report is signed off, and readings go through it from then on', async () => {
    const client = windowAs('operator')
    const entering = { session, channel: 'x1', why: 'calibrated here' }
    expect((await refusalOf(client.checks.enterCalibration(entering))).words).toMatch(
      /is a draft. Sign it off first/,
    )
    const signing = {
      session,
      password: KEEPER.password,
      statements: NOTHING_TO_STATE,
    }
    // The fixture's certificates do not say who accredits whoever issued them: the signer has to know.
    expect((await refusalOf(client.points.signOff(signing))).words).toMatch(/The chain to the SI has gaps/)
    // Nor was anything lifted, exchanged or insulated: sign-off asks about each check by name.
    expect((await refusalOf(client.points.signOff({ ...signing, gapsKnown: true }))).words).toMatch(
      /was not checked.*insulation not measured/,
    )
    await client.points.signOff({ ...signing, gapsKnown: true, findingsKnown: true })
    const { words } = await client.checks.enterCalibration(entering)
    expect(words).toMatch(
      /Industrial PRT 1 has a calibration of 2026-03-01, QTL-2026-0147, version 1, from 0\.\d to 100\.\d °C, at zero current/,
    )
    const register = hosted.store.register()
    const entry = register.thermometers.find((t) => t.id === 'prt-x1')!
    expect(entry.calibrations).toMatchObject([
      { certificate: 'QTL-2026-0147, version 1', atZeroCurrent: true },
    ])
    expect(entry.wtpHistory.at(-1)).toMatchObject({ session })
    const { setup } = services.sessions.read(session)
    const channel = setup.bench.channels.find((c) => c.id === 'x1')!
    const chain = buildChain({ bench: setup.bench, register, date: '2026-03-02' }, channel)
    expect(chain.nominal).toBe(false)
    expect(chain.uCelsius(50)).toBeLessThan(0.02)
    expect(
      (await refusalOf(client.checks.enterCalibration({ ...entering, channel: 'nothing' }))).words,
    ).toMatch(/No thermometer under test was on channel nothing/)
  }, 120_000)

  it('takes nothing of a session that still runs', async () => {
    const client = windowAs('operator')
    await client.bench.startLab({ seed: 2, scenario: 'quiet' })
    const { session: running } = await client.run.record({})
    expect((await refusalOf(client.checks.takeWtp({ session: running, why: '' }))).words).toMatch(
      /still running/,
    )
    await client.run.stop({ why: 'enough' })
    await hosted.station.finished
  }, 60_000)
})

describe('register.restore', () => {
  it('takes the newest save of a record back as an entry of its own, and no other', async () => {
    const client = windowAs('operator')
    const before = hosted.store.register().resistors.find((r) => r.id === 'rs-100')!
    const save = (name: string) =>
      client.register.saveResistor({ entry: { ...before, name }, why: 'renamed' })
    await save('First name')
    await save('Second name')
    const [second, first] = hosted.store.ledger({ subject: 'rs-100' })
    const restore = (n: number) => client.register.restore({ ledger: n, why: 'a typing error' })
    expect((await refusalOf(restore(first!.n))).words).toMatch(/saved again later, by entry/)
    const { words } = await restore(second!.n)
    expect(words).toMatch(/stands again as it did before entry/)
    const [newest] = hosted.store.ledger({ subject: 'rs-100' })
    expect(newest).toMatchObject({
      who: 'C. Keeper',
      what: 'resistor saved',
      why: `takes entry ${second!.n} back: a typing error`,
      new: second!.old,
    })
    expect(hosted.store.register().resistors.find((r) => r.id === 'rs-100')!.name).toBe('First name')
    const all = hosted.store.ledger({ subject: 'rs-100' })
    expect((await refusalOf(restore(all.at(-1)!.n))).words).toMatch(/saved again later|no older one/)
    hosted.store.people.tell({ who: 'station', what: 'sign-in refused', subject: 'people', why: 'x' })
    const [named] = hosted.store.ledger({ subject: 'people' })
    expect((await refusalOf(restore(named!.n))).words).toMatch(/no save of a record/)
    expect((await refusalOf(nobody().register.restore({ ledger: newest!.n, why: 'x' }))).code).toBe('SIGN_IN')
  })
})

describe('checks.record', () => {
  const pairs = [{ name: '25 and 100', ratio: 0.25, u: 1e-9, reciprocal: 4, uReciprocal: 1e-8 }]

  it('writes a check into the register for its keeper, and refuses in words what it cannot place', async () => {
    const client = windowAs('operator')
    const request = { check: 'interchange' as const, instrument: 'rb-8', date: '2026-03-19', pairs }
    const { words } = await client.checks.record({ request, why: 'yearly' })
    expect(words).toMatch(/Budgets keep the stated figure/)
    const { instruments } = hosted.store.register()
    expect(instruments.find((i) => i.id === 'rb-8')!.checks).toMatchObject([
      { kind: 'interchange', date: '2026-03-19', agrees: true },
    ])
    const nowhere = { ...request, instrument: 'nowhere' }
    expect((await refusalOf(client.checks.record({ request: nowhere, why: 'x' }))).words).toMatch(
      /no instrument "nowhere"/,
    )
    expect((await refusalOf(nobody().checks.record({ request, why: 'x' }))).code).toBe('SIGN_IN')
  })

  it('takes resistors as the register has them, whatever the window says of their values', async () => {
    const client = windowAs('operator')
    const own = hosted.store.register().resistors.find((r) => r.id === 'rs-100')!
    const better = { ...own, id: 'better', name: 'Better resistor' }
    await client.register.saveResistor({ entry: better, why: 'new' })
    const false100 = { ...better, calibrations: better.calibrations.map((c) => ({ ...c, ohm: '500' })) }
    const comparison = { check: 'resistor' as const, date: '2026-03-20', ratio: 1, uRatio: 1e-8 }
    await client.checks.record({
      request: { ...comparison, better: false100, resistor: own },
      why: 'yearly',
    })
    const kept = hosted.store.register().resistors.find((r) => r.id === 'rs-100')!
    expect(Number(kept.comparisons![0]!.ohm)).toBeCloseTo(100, 1)
  })
})
