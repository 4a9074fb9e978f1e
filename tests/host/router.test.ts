import { mkdtempSync, readdirSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { gunzipSync } from 'node:zlib'
import Database from 'better-sqlite3'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { CodedError } from '../../app/base/coded-error.ts'
import { unpackColumns } from '../../app/contract/columns.ts'
import { contract } from '../../app/contract/index.ts'
import { type CallName, NEEDS } from '../../app/contract/rights.ts'
import { asTold, said } from '../../app/messages/said.ts'
import type { HostedStation } from '../../main/host/open-station.ts'
import type { Role } from '../../main/host/page/tokens.ts'
import type { Services } from '../../main/host/services.ts'
import { Replayer } from '../../main/study/replayer.ts'
import { type EmptyHost, openEmptyHost } from './empty-host.ts'
import { enterKeeper, KEEPER } from './keeper.ts'
import { NOTHING_TO_STATE } from './statements.ts'
import { refusalOf, Windows } from './window.ts'

let hosted: HostedStation
let services: Services
let host: EmptyHost
const windows = new Windows()

const windowAs = (role: Role, person?: string) => windows.open(services, role, person)

beforeAll(async () => {
  host = await openEmptyHost()
  ;({ hosted, services } = host)
  await enterKeeper(services)
})
afterAll(async () => {
  windows.close()
  await host.close()
})

/** Paths of all calls of the contract. */
function paths(node: object, before: string[] = []): string[][] {
  return Object.entries(node).flatMap(([name, child]) =>
    '~orpc' in (child as object) ? [[...before, name]] : paths(child as object, [...before, name]),
  )
}

const callAt = (client: unknown, path: string[]) =>
  path.reduce((node, name) => (node as Record<string, unknown>)[name], client) as (
    input?: unknown,
  ) => Promise<unknown>

const nameOf = (path: string[]) => path.join('.') as CallName
const CHANGING = paths(contract).filter((path) => NEEDS[nameOf(path)] !== 'look')
/** Words of calls that change nothing, so that no change can be declared as looking on. */
const LOOKS =
  /^(station|live|history)\.|\.(get|list|some|ledgerEntry|charted|profiles|preview|foretell|fits|report\w*|thread|sessions|open|verify|compare|replay|dueDates|ledger|rules|history|measuredWtp|plateau|forwarding|customers|changedCustomers|parcels|fill|receipt|paper|state|benches|exportCsv|certificates?|certificateHolds|certificateHtml|certificatePdf|certificateXml|life|me|comeBack)$/

/**
 * Calls of a window where nobody need be signed in, though an onlooker may not make them, and why none of them changes
 * anything that the station keeps. A new one is thought about here first.
 */
const WITHOUT_PERSON: Record<string, { why: string; input?: unknown }> = {
  'bench.ports': { why: 'reads the names of serial ports' },
  'bench.adviseResistor': {
    why: 'works something out',
    input: { thermometer: 'none', lowC: 0, highC: 1, wantedMk: 1 },
  },
  'station.practice': { why: 'opens a station of its own, which keeps nothing here' },
  'points.signOffHolds': { why: 'reads', input: { session: 'none' } },
  'drafts.get': { why: 'reads', input: { key: 'k' } },
  'drafts.put': { why: 'keeps nothing without a person', input: { key: 'k', json: '1' } },
  'drafts.drop': { why: 'has nothing to drop without a person', input: { key: 'k' } },
  'archive.export': { why: 'reads', input: { session: 'none', format: 'csv' } },
  'archive.lookAtTable': { why: 'reads what it is sent', input: { beginning: 'a;b' } },
  'register.checkThermometer': { why: 'reads what it is sent' },
  'register.exportFile': { why: 'reads', input: { format: 'json' } },
  'wire.traffic': { why: 'shows what passes' },
  'laboratory.undecided': { why: 'reads' },
  'people.enterFirst': {
    why: 'is refused once there is somebody',
    input: { name: 'Another', password: 'another long one' },
  },
  'people.signIn': { why: 'is how a person comes', input: { name: 'Nobody', password: 'wrong' } },
  'people.signOut': { why: 'ends what a window may do', input: {} },
}

/** Everything that the station keeps in its records but the ledger, as one text. */
function keptBy({ database }: HostedStation['store']): string {
  const tables = database
    .prepare(
      "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND name NOT LIKE 'ledger%' ORDER BY name",
    )
    .pluck()
    .all() as string[]
  return JSON.stringify(tables.map((name) => [name, database.prepare(`SELECT * FROM "${name}"`).all()]))
}

describe('the contract served', () => {
  it('refuses junk on every call, and goes on answering', async () => {
    const client = windowAs('operator')
    for (const path of paths(contract)) {
      const withInput = path.reduce<unknown>(
        (node, name) => (node as Record<string, unknown>)[name],
        contract,
      ) as { '~orpc': { inputSchema?: unknown } }
      if (!withInput['~orpc'].inputSchema) continue
      for (const junk of [
        null,
        7,
        'x'.repeat(10_000),
        [],
        { __proto__: { admin: true }, unknown: 1 },
        { session: { $ne: '' } },
      ]) {
        await expect(callAt(client, path)(junk), path.join('.')).rejects.toThrow()
      }
    }
    expect((await client.station.state()).program).toBe('Stillpoint')
  })

  it('declares of every call what it needs, and lets none that changes something pass as looking on', () => {
    expect(Object.keys(NEEDS).toSorted()).toEqual(paths(contract).map(nameOf).toSorted())
    for (const [name, need] of Object.entries(NEEDS)) if (need === 'look') expect(name).toMatch(LOOKS)
  })

  it('changes nothing without a person: every other call reads, and these leave the records as they are', async () => {
    const windowCalls = Object.entries(NEEDS).flatMap(([name, need]) => (need === 'window' ? [name] : []))
    expect(windowCalls.toSorted()).toEqual(Object.keys(WITHOUT_PERSON).toSorted())
    const nobody = windowAs('operator', 'nobody')
    const before = keptBy(hosted.store)
    const entries = hosted.store.ledger({}).length
    for (const [name, { input }] of Object.entries(WITHOUT_PERSON)) {
      // Traffic is a stream without an end.
      // A practice station is a process of its own (practice-station.test.ts).
      if (name === 'wire.traffic' || name === 'station.practice') continue
      await callAt(
        nobody,
        name.split('.'),
      )(input)
        // Most of them find nothing of that name; what matters is what they leave behind.
        .catch(() => undefined)
    }
    expect(keptBy(hosted.store)).toBe(before)
    // A wrong password is told in the ledger, and nothing else is.
    const told = hosted.store.ledger({}).slice(0, -entries)
    expect(told.map(({ what }) => what)).toEqual(['sign-in refused'])
  })

  it('refuses with a code and the facts beside the sentence, whoever throws', async () => {
    const client = windowAs('operator')
    const refusal = await client.archive.open({ session: 'nowhere' }).then(
      () => undefined,
      (fault: { code: string; data: unknown }) => fault,
    )
    expect(refusal?.code).toBe('NOT_FOUND')
    expect(refusal?.data).toEqual({
      words: expect.stringMatching(/nowhere/),
      kind: 'not-found',
      code: 'no-such-file',
      args: { path: expect.stringMatching(/nowhere/) },
    })
    const key = await services.signing.open('x').then(
      () => undefined,
      (fault: unknown) => fault,
    )
    expect(key).toBeInstanceOf(CodedError)
  })

  it('decides nothing where nobody is signed in, nor where the person may not', async () => {
    const nobody = windowAs('operator', 'nobody')
    const keeper = services.store.people.named(KEEPER.name)!
    services.store.people.save({ id: 'looker', name: 'L. Ooker', rights: [] }, { who: keeper.name, why: '' })
    const looker = windowAs('operator', 'L. Ooker')
    for (const path of paths(contract)) {
      const need = NEEDS[nameOf(path)]
      if (need === 'look' || need === 'window') continue
      expect((await refusalOf(callAt(nobody, path)({}))).code, path.join('.')).toBe('SIGN_IN')
      if (need !== 'person')
        expect((await refusalOf(callAt(looker, path)({}))).code, path.join('.')).toBe('FORBIDDEN')
    }
    expect((await nobody.station.state()).runner.phase).toBe('idle')
  })

  it('lets an onlooker change nothing', async () => {
    expect(CHANGING.length).toBeGreaterThan(25)
    const client = windowAs('watcher')
    for (const path of CHANGING) {
      const { code } = await refusalOf(callAt(client, path)({}))
      expect(code, path.join('.')).toBe('FORBIDDEN')
    }
    expect((await client.station.state()).runner.phase).toBe('idle')
  })

  it('says what the station refuses in a sentence', async () => {
    const { code, words } = await refusalOf(windowAs('operator').run.start({ plan: 'nowhere' }))
    expect(code).toBe('REFUSED')
    expect(words).toBe('There is no plan "nowhere".')
  })

  it('changes the register for who keeps the records alone, and only after a look for typing errors', async () => {
    const client = windowAs('operator')
    const nobody = windowAs('operator', 'nobody')
    const entry = {
      id: 'prt-9',
      name: 'PRT 9',
      kind: 'prt' as const,
      nominalOhm: 100,
      lowC: 0,
      highC: 200,
      calibrations: [
        {
          id: 'c1',
          date: '2026-01-10',
          certificate: 'Q-1',
          laboratory: 'Quennick Calibration House (invented)',
          lowC: 0,
          highC: 200,
          conversion: { kind: 'callendar-van-dusen' as const, r0: 100, a: 3.9083e-2, b: -5.775e-7, c: 0 },
        },
      ],
    }
    const wrong = await refusalOf(client.register.saveThermometer({ entry, why: 'new' }))
    expect(wrong.words).toMatch(/alpha/)
    expect((await refusalOf(nobody.register.saveThermometer({ entry, why: '' }))).code).toBe('SIGN_IN')
    entry.calibrations[0]!.conversion.a = 3.9083e-3
    await client.register.saveThermometer({ entry, why: 'new' })
    expect(hosted.store.register().thermometers.map(({ id }) => id)).toEqual(['prt-9'])
    expect(hosted.store.ledger({})[0]).toMatchObject({
      who: 'C. Keeper',
      subject: expect.stringContaining('prt-9') as string,
    })
  })

  it('gives a bundle for support that holds no secret', async () => {
    const client = windowAs('operator')
    const { rules: _rules, ...rest } = await client.alarms.rules()
    const email = {
      host: 'mail.invalid',
      port: 25,
      from: 'a@mail.invalid',
      to: ['b@mail.invalid'],
      user: 'secret-user',
    }
    await client.alarms.saveRules({
      rules: { ...rest, rules: [], email, webhook: { url: 'https://hooks.invalid/secret-token' } },
    })
    const bytes = Buffer.from(await (await client.station.support()).arrayBuffer())
    const text = gunzipSync(bytes).toString()
    expect(text).toContain('"program":')
    expect(text).toContain('mail.invalid')
    expect(text).not.toMatch(/secret-(user|token)/)
    await client.alarms.saveRules({
      rules: { ...rest, rules: [], email: null, webhook: null },
    })
  })

  it('carries a night from an empty station to a signed report', async () => {
    const client = windowAs('operator')
    await client.bench.startLab({ seed: 3, scenario: 'demo' })
    const plan = {
      ...(await client.plan.list())[0]!,
      id: 'short',
      name: 'Three setpoints',
      setpoints: [20, 30, 40, 50].map((celsius) => ({ celsius, selfHeating: false })),
    }
    await client.plan.save({ plan })
    const preview = await client.plan.preview({ plan })
    expect(preview.checks.filter(({ severity }) => severity === 'stop')).toEqual([])
    const { session } = await client.run.start({
      plan: 'short',
      accept: preview.checks.map(({ id }) => id),
    })

    const first = unpackColumns(await (await client.live.next({ after: 0, waitMs: 5000 })).arrayBuffer())
    expect((first.meta as { session: string }).session).toBe(session)
    await hosted.station.finished

    expect(await client.points.list({ session })).toHaveLength(4)
    const fits = await client.points.fits({ session })
    expect(fits.map(({ refusal }) => refusal)).toEqual([null, null, null, null])

    // The same plan once more: what is foretold now rests on this night, and the night itself bears it out.
    expect(preview.nights).toBe(0)
    const again = await client.plan.preview({ plan })
    expect(again.nights).toBe(1)
    const { info } = (await client.archive.sessions({ search: 'Three setpoints', most: 1 })).rows[0]!
    const tookS = (info.endedUtcUs! - info.startedUtcUs) / 1e6
    expect(again.totalS / tookS).toBeGreaterThan(0.75)
    expect(again.totalS / tookS).toBeLessThan(1.33)
    const foretold = await client.plan.foretell({ plan })
    expect(foretold.refusal).toBeNull()
    expect(foretold.remarks[0]).toBe('From the register and from one night on this bench.')
    for (const { channel, at } of foretold.results) {
      const { band } = fits.find((f) => f.channel === channel)!
      for (const { celsius, expandedMk, most } of at) {
        const reported = band.toSorted(
          (a, b) => Math.abs(a.celsius - celsius) - Math.abs(b.celsius - celsius),
        )[0]!
        expect(expandedMk / reported.expandedMk).toBeGreaterThan(0.7)
        expect(expandedMk / reported.expandedMk).toBeLessThan(1.4)
        expect(most[0]!.part).toBeGreaterThan(most.at(-1)!.part)
      }
    }
    const overview = unpackColumns(
      await (
        await client.history.overview({ session, channel: 'ref', quantity: 'temperature', buckets: 100 })
      ).arrayBuffer(),
    )
    const min = overview.columns.min as Float64Array
    expect(Math.min(...min)).toBeGreaterThan(5)
    expect(Math.max(...(overview.columns.max as Float64Array))).toBeLessThan(60)
    expect((await client.history.statistics({ session, channel: 'ref', quantity: 'deviation' })).unit).toBe(
      'mK',
    )

    const coefficient = await client.points.thread({ session, key: 'fit/prt-a/coefficient/r0' })
    expect(coefficient.inputs.length).toBeGreaterThan(0)
    expect(
      (await client.points.thread({ session, key: 'point/point-1/ref/t90C' })).readings?.count,
    ).toBeGreaterThan(0)
    expect((await client.archive.verify({ session })).whole).toBe(true)
    expect(await client.points.reportHtml({ session })).toContain('Quennick')
    expect((await client.points.reportPdf({ session })).size).toBeGreaterThan(20_000)
    const [row] = await client.points.certificates({ session })
    expect(row).toMatchObject({ number: null, signed: false, digital: true })
    const xml = await client.points.certificateXml({ session, thermometer: row!.thermometer })
    expect(Buffer.from(await xml.arrayBuffer()).toString()).toContain('digitalCalibrationCertificate')

    const same = await client.archive.compare({ session, with: 'now' })
    expect(same.lines.filter(({ changed }) => changed)).toEqual([])

    expect(
      (
        await refusalOf(
          client.points.signOff({
            session,
            password: 'not the right one',
            statements: NOTHING_TO_STATE,
          }),
        )
      ).code,
    ).toBe('REFUSED')
    await client.points.signOff({
      session,
      password: 'a long enough one',
      statements: NOTHING_TO_STATE,
      findingsKnown: true,
    })
    expect((await client.points.report({ session })).status).toBe('signed')
  }, 300_000)

  it('recomputes an ended session when a coefficient turns out wrong, and says what changes', async () => {
    const client = windowAs('operator')
    const row = (await client.archive.sessions({ search: '' })).rows.find(({ points }) => points > 0)
    const reference = hosted.store.register().thermometers.find(({ id }) => id === 'sprt-0147')!
    const wtp = reference.wtpHistory.at(-1)!
    await client.register.saveThermometer({
      entry: {
        ...reference,
        wtpHistory: [
          ...reference.wtpHistory.slice(0, -1),
          { ...wtp, ohm: (Number(wtp.ohm) * (1 + 4e-6)).toFixed(6) },
        ],
      },
      why: 'R(WTP) was typed with two digits exchanged',
    })
    const { words, lines } = await client.archive.compare({ session: row!.info.id, with: 'now' })
    expect(words).toContain(reference.name)
    const moved = lines.find(({ key, changed }) => key === 'prt-a.coefficient.r0' && changed)
    expect(moved).toBeDefined()
    const frames: number[] = []
    for await (const state of await client.archive.replay({
      session: row!.info.id,
      speed: 100_000,
      coefficients: 'now',
    })) {
      frames.push(state.utcUs)
    }
    // The points beside a replay are through the same coefficients as its channels.
    const then = await client.points.list({ session: row!.info.id })
    const now = await client.points.list({ session: row!.info.id, coefficients: 'now' })
    expect(now).toHaveLength(then.length)
    const register = hosted.store.register()
    const file = services.sessions.read(row!.info.id)
    const referenceOf = (points: typeof then, i: number) =>
      points[i]!.channels.find(({ channel }) => channel === 'ref')!.t90C!
    for (const [i, point] of then.entries()) {
      // 4 parts in a million of about 25 ohm over 0.1 ohm/K are 1.0 mK and more.
      expect((referenceOf(now, i) - referenceOf(then, i)) * 1e3).toBeLessThan(-0.9)
      // A replay moves by as much: both of it from the same readings, so that no noise stands between them.
      const replayed = (coefficients: ConstructorParameters<typeof Replayer>[1]) => {
        const replayer = new Replayer(file, coefficients)
        replayer.advance(point.endUtcUs - row!.info.startedUtcUs)
        return replayer.state().channels.find(({ id }) => id === 'ref')!.meanC!
      }
      const shiftMk = (replayed({ register }) - replayed({})) * 1e3
      const pointShiftMk = (referenceOf(now, i) - referenceOf(then, i)) * 1e3
      expect(Math.abs(shiftMk - pointShiftMk)).toBeLessThan(0.005)
    }
    expect(frames.length).toBeGreaterThan(1)
    expect(frames.at(-1)).toBeGreaterThan(frames[0]!)
    expect(frames.filter((utcUs) => !Number.isInteger(utcUs))).toEqual([])
  }, 240_000)

  it('takes a decision only about a point and a channel that there are', async () => {
    const client = windowAs('operator')
    const session = (await client.archive.sessions({})).rows.find(({ points }) => points > 0)!.info.id
    const before = await client.history.events({ session })
    for (const of of [{ point: 'point-99' }, { point: 'point-1', channel: 'none' }]) {
      const { code, words } = await refusalOf(client.points.leaveOut({ session, ...of, why: 'tried' }))
      expect(code).toBe('REFUSED')
      expect(words).toMatch(/This session has no point "point-99"|There is no channel "none"/)
    }
    expect((await client.history.events({ session })).total).toBe(before.total)
  })

  it('tells onlookers of links and alarms without the addresses of the instruments', async () => {
    const { bench } = hosted.station
    const link = bench!.instruments[0]!.link as { host: string; port: number }
    const words = `${link.host}:${link.port} refused the connection`
    const operator = windowAs('operator')
    const onlooker = windowAs('watcher')
    const session = (await operator.archive.sessions({})).rows.find(({ points }) => points > 0)!.info.id
    services.sessions.addEvents(session, [
      { kind: 'link', said: said('link', { instrument: 'bridge', words }), data: { words } },
    ])
    hosted.station.alarms.raise({
      key: 'x',
      kind: 'link',
      severity: 'warning',
      subject: null,
      said: asTold(words),
    })
    const asked = async (client: typeof operator) =>
      JSON.stringify([
        await client.history.events({ session }),
        await client.alarms.list({}),
        await client.station.state(),
        await client.bench.get(),
        await client.archive.open({ session }),
        await client.settings.get(),
      ])
    expect(await asked(operator)).toContain(`${link.host}:${link.port}`)
    const told = await asked(onlooker)
    expect(told).toContain('refused the connection')
    expect(told).not.toContain(link.host)
    expect(told).not.toContain(String(link.port))
    hosted.station.alarms.end('x')
  })

  it.skipIf(process.platform === 'win32')('keeps every file and folder to its owner', async () => {
    const client = windowAs('operator')
    const backupFolder = mkdtempSync(join(tmpdir(), 'stillpoint-copies-'))
    try {
      await client.settings.save({ settings: { ...(await client.settings.get()), backupFolder } })
      await client.archive.backupAll()
      const open = [host.folder, backupFolder].flatMap((folder) =>
        readdirSync(folder, { recursive: true, encoding: 'utf8' })
          .map((name) => join(folder, name))
          .filter((path) => (statSync(path).mode & 0o077) !== 0),
      )
      expect(open).toEqual([])
      expect(readdirSync(join(backupFolder)).length).toBeGreaterThan(1)
    } finally {
      await client.settings.save({ settings: { ...(await client.settings.get()), backupFolder: null } })
      rmSync(backupFolder, { recursive: true, force: true })
    }
  })

  it('signs nothing over a record that was written over', async () => {
    const client = windowAs('operator')
    const session = (await client.archive.sessions({})).rows.find(({ points }) => points > 0)!.info.id
    const forger = new Database(services.store.sessionPath(session))
    forger.exec("DROP TRIGGER log_no_update; UPDATE log SET raw = '0.25' WHERE seq = 7")
    forger.close()
    const signed = services.sessions.read(session).signOffs.length
    const { code, words } = await refusalOf(
      client.points.signOff({
        ...{ session, password: KEEPER.password, statements: NOTHING_TO_STATE },
        ...{ findingsKnown: true, gapsKnown: true },
      }),
    )
    expect(code).toBe('REFUSED')
    expect(words).toContain('The record of this session is not whole, so its report cannot be signed.')
    expect(services.sessions.read(session).signOffs).toHaveLength(signed)
  })
})
