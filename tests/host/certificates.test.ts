import { spawnSync } from 'node:child_process'
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import type { AddressInfo } from 'node:net'
import { dirname, join } from 'node:path'
import { SMTPServer } from 'smtp-server'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { AlarmRules } from '../../app/contract/settings.ts'
import { Bath } from '../../app/records/bath.ts'
import { Cell } from '../../app/records/cell.ts'
import { Customer } from '../../app/records/customer.ts'
import { Item, Order, SessionItem } from '../../app/records/order.ts'
import { InstrumentRecord, Resistor } from '../../app/records/register.ts'
import { deliver } from '../../main/host/deliver.ts'
import { issuedFolder, signOffSession } from '../../main/host/issue-certificates.ts'
import { lifeView } from '../../main/host/life.ts'
import { writeSessionResults } from '../../main/host/session-results.ts'
import { takeCertificate } from '../../main/host/take-certificate.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { lookAtCertificate } from '../../main/study/look-at-certificate.ts'
import { lookAtSigned, signedSession } from '../../main/study/signing/look-at-signed.ts'
import { withoutSignature } from '../../main/study/signing/pdf-signature.ts'
import { checkStamp, trialStamp } from '../../main/study/signing/time-stamp.ts'
import { makeTrialAuthority } from '../../main/study/signing/trial-authority.ts'
import { readRoots, verifyPdf, verifyStamp, verifyXml } from '../../main/study/signing/verify.ts'
import { withoutXmlSignature } from '../../main/study/signing/xml-signature.ts'
import { fixtureSession } from '../report/session-fixture.ts'
import { opensslStamps, stampService } from '../study/signing/openssl-stamps.ts'
import { type EmptyHost, openEmptyHost } from './empty-host.ts'
import { enterKeeper, KEEPER } from './keeper.ts'
import { NOTHING_TO_STATE } from './statements.ts'
import { refusalOf, Windows } from './window.ts'

let host: EmptyHost
const session = 'fixture-6'
const NOW = Date.UTC(2026, 2, 20, 8) * 1000

const item = (thermometer: string, name: string, address: string[], language: 'en' | 'de') =>
  SessionItem.parse({
    item: `item-${thermometer}`,
    thermometer,
    order: `order of ${name}`,
    customer: { name, address },
    received: '2026-02-24',
    occasion: 'as-found',
    asked: { lowC: 0, highC: 100 },
    wish: { languages: [language] },
  })

const open = () => openSessionFile(host.hosted.store.sessionPath(session), { mode: 'read' })

const deliverTo = (out: string, more: { customer?: string; mail?: boolean } = {}) =>
  deliver(
    { store: host.hosted.store, ask: host.services.reports.ask(), paper: 'A4' },
    { session, out, mail: false, act: { who: 'C. Hale', why: 'delivered' }, nowUtcUs: NOW, ...more },
  )

beforeAll(async () => {
  host = await openEmptyHost(NOW)
  await enterKeeper(host.services)
  const path = host.hosted.store.sessionPath(session)
  mkdirSync(dirname(path), { recursive: true })
  const made = fixtureSession(path, { seed: 6, setpoints: [0, 50, 100], cell: 'none' }, (setup) => ({
    ...setup,
    job: null,
    bench: {
      ...setup.bench,
      channels: setup.bench.channels.filter(({ id }) => ['s0', 'x1', 'x2'].includes(id)),
    },
    items: [
      item('prt-x1', 'Bramblewick Dairy', ['1 Churn Yard'], 'en'),
      item('prt-x2', 'Molkerei Sendelbach', ['Am Wehr 7'], 'de'),
    ],
  }))
  for (const entry of made.session.setup.register.thermometers)
    host.hosted.store.saveThermometer(entry, 'test', '')
  host.hosted.store.registerSession(made.session)
  made.session.close()
}, 60_000)
afterAll(() => {
  windows.close()
  return host.close()
})
const windows = new Windows()
const openssl = spawnSync('openssl', ['version']).error === undefined

describe('the certificates of two customers from one night', () => {
  it('are not delivered as drafts', async () => {
    const out = join(host.folder, 'early')
    await expect(deliverTo(out)).rejects.toThrow(/Sign it off first/)
    expect(existsSync(out)).toBe(false)
  })

  it('are not signed with a stamp from the future: no number, no sign-off, no file', async () => {
    const authority = await makeTrialAuthority('C. Hale', 'Quennick', NOW)
    const stamp = async (data: Uint8Array) => {
      const token = await trialStamp(authority.stamper, data, NOW + 3600e6)
      await checkStamp(token, data, NOW)
      return token
    }
    const sign = signOffSession(
      host.services,
      {
        ...{ session, who: 'C. Hale', remark: '', statements: NOTHING_TO_STATE },
        ...{ gapsKnown: true, findingsKnown: true },
      },
      { key: authority.signer, stamp },
    )
    await expect(sign).rejects.toMatchObject({ code: 'stamp-from-future' })
    const file = open()
    expect(file.signOffs).toEqual([])
    file.close()
    expect(host.hosted.store.certificates()).toEqual([])
    expect(existsSync(issuedFolder(host.hosted.store.folder, session))).toBe(false)
  })

  it('are numbered, signed and stamped at the sign-off, each for its customer alone', async () => {
    const authority = await makeTrialAuthority('C. Hale', 'Quennick', NOW)
    const words = await signOffSession(
      host.services,
      {
        session,
        who: 'C. Hale',
        remark: '',
        statements: NOTHING_TO_STATE,
        gapsKnown: true,
        findingsKnown: true,
      },
      { key: authority.signer, stamp: (data) => trialStamp(authority.stamper, data, NOW) },
    )
    expect(words).toContain('2026-0001, 2026-0002, signed electronically')
    const out = join(host.folder, 'results')
    await writeSessionResults(host.services, session, out)
    const names = readdirSync(join(out, 'certificates')).toSorted()
    expect(names).toEqual(['2026-0001-v1.pdf', '2026-0001-v1.xml', '2026-0002-v1.pdf', '2026-0002-v1.xml'])
    const roots = readRoots(authority.rootPem)
    for (const name of names) {
      const data = readFileSync(join(out, 'certificates', name))
      const verdict = name.endsWith('.pdf')
        ? await verifyPdf(data, roots, NOW)
        : await verifyXml(data.toString(), roots, NOW)
      expect(verdict, name).toMatchObject({ state: 'intact', trusted: true })
      expect(verdict.stamped, name).not.toBeNull()
    }
    const first = readFileSync(join(out, 'certificates', '2026-0001-v1.xml'), 'utf8')
    expect(first).toContain('Bramblewick Dairy')
    expect(first).not.toMatch(/Sendelbach|77131/)
    expect(existsSync(join(out, 'results.json.p7s'))).toBe(true)
  }, 120_000)

  it('are looked at by verify: each signature, the head of the chain, and what was taken away or changed', async () => {
    const file = open()
    const own = signedSession(file)
    file.close()
    const out = join(host.folder, 'results')
    const look = () =>
      lookAtSigned([out, join(out, 'certificates')], { roots: [], nowUtcUs: NOW, session: own })
    const [first, second] = ['certificates/2026-0001-v1.pdf', 'certificates/2026-0002-v1.xml']
    const whole = await look()
    expect(whole.filter(({ holds }) => !holds)).toEqual([])
    expect(whole.map(({ name }) => name)).toEqual(
      expect.arrayContaining(['results.json.p7s', 'session-head.txt', 'session-head.txt.p7s', first, second]),
    )
    const kept = new Map(
      [first, second, 'session-head.txt', 'results.json'].map((name) => [
        name,
        readFileSync(join(out, name)),
      ]),
    )
    const put = (name: string, data: string | Buffer) => writeFileSync(join(out, name), data)
    const broken = async () => (await look()).filter(({ holds }) => !holds).map(({ name }) => name)
    put(first, withoutSignature(kept.get(first)!) as Buffer)
    expect(await broken()).toEqual([first])
    put(first, kept.get(first)!)
    put(second, withoutXmlSignature(kept.get(second)!.toString()))
    put('results.json', `${kept.get('results.json')!.toString()} `)
    put(
      'session-head.txt',
      kept
        .get('session-head.txt')!
        .toString()
        .replace(/chain head ./, 'chain head x'),
    )
    expect(await broken()).toEqual(['results.json.p7s', 'session-head.txt', 'session-head.txt.p7s', second])
    for (const [name, data] of kept) put(name, data)
    rmSync(join(out, first))
    expect(await look()).toContainEqual({
      name: '2026-0001',
      holds: false,
      words: 'This certificate was signed electronically and is not here.',
    })
    put(first, kept.get(first)!)
    expect(await broken()).toEqual([])
  })

  it('are delivered in a folder for each, with checksums and a list, and the ledger says to whom', async () => {
    const out = join(host.folder, 'parcels')
    await deliverTo(out)
    expect(readdirSync(out).toSorted()).toEqual(['Bramblewick-Dairy', 'Molkerei-Sendelbach'])
    expect(readdirSync(join(out, 'Bramblewick-Dairy')).toSorted()).toEqual([
      '2026-0001-v1.csv',
      '2026-0001-v1.pdf',
      '2026-0001-v1.xml',
      'SHA256SUMS',
      'covering-list.txt',
    ])
    const table = readFileSync(join(out, 'Bramblewick-Dairy', '2026-0001-v1.csv'), 'utf8')
    expect(table.split('\r\n')[1]).toMatch(/^2026-0001,77031,/)
    const delivered = host.hosted.store.ledger().filter(({ what }) => what === 'certificates delivered')
    expect(delivered.map(({ new: to }) => to).toSorted()).toEqual([
      '2026-0001 to Bramblewick Dairy',
      '2026-0002 to Molkerei Sendelbach',
    ])
  }, 60_000)

  it('go by mail with their files, to the customer whose they are, or nothing goes where something is missing', async () => {
    const { store } = host.hosted
    const out = join(host.folder, 'mailed')
    const dairy = { customer: 'Bramblewick Dairy', mail: true }
    await expect(deliverTo(out, dairy)).rejects.toThrow(/No mail server is set up/)
    const got: { to: string; text: string }[] = []
    const server = new SMTPServer({
      disabledCommands: ['STARTTLS', 'AUTH'],
      onData(stream, { envelope }, done) {
        let text = ''
        stream.on('data', (part) => {
          text += part
        })
        stream.on('end', () => {
          got.push({ to: envelope.rcptTo.map(({ address }) => address).join(), text })
          done()
        })
      },
    })
    await new Promise<void>((listening) => server.listen(0, '127.0.0.1', listening))
    const { port } = server.server.address() as AddressInfo
    const email = {
      host: '127.0.0.1',
      port,
      from: 'lab@quennick.example',
      to: [],
      user: null,
      withoutTls: true,
    }
    store.saveAlarmRules(AlarmRules.parse({ ...store.alarmRules(), email }), 'test')
    await expect(deliverTo(out, dairy)).rejects.toThrow(/Bramblewick Dairy has no e-mail address/)
    expect(existsSync(out)).toBe(false)
    host.services.orders.saveCustomer(
      Customer.parse({ id: 'dairy', name: 'Bramblewick Dairy', email: 'probes@bramblewick.example' }),
      { who: 'test', why: '' },
    )
    const [line] = await deliverTo(out, dairy)
    expect(line).toMatch(/by mail to probes@bramblewick\.example$/)
    expect(got.map(({ to }) => to)).toEqual(['probes@bramblewick.example'])
    for (const name of ['2026-0001-v1.pdf', '2026-0001-v1.xml', '2026-0001-v1.csv', 'SHA256SUMS'])
      expect(got[0]!.text).toContain(`filename=${name}`)
    expect(got[0]!.text).not.toMatch(/Sendelbach|2026-0002/)
    await new Promise<void>((closed) => server.close(closed))
    const [refusal] = await deliverTo(out, dairy)
    expect(refusal).toMatch(/not sent\. The mail server 127\.0\.0\.1 did not take it/)
  }, 60_000)

  it.runIf(openssl)(
    'are asked again for a stamp that was not to be had: said while nobody answers, delivered once it came',
    async () => {
      const { store } = host.hosted
      const dairy = { customer: 'Bramblewick Dairy' }
      const out = join(host.folder, 'late')
      const settings = (stampUrl: string) => store.saveSettings(host.services.settings({ stampUrl }), 'test')
      settings('http://127.0.0.1:9/')
      store.waitForStamp(session, '2026-0001-v1.pdf')
      expect((await deliverTo(out, dairy)).at(-1)).toMatch(/^1 of the files still wait for a time stamp/)
      const folder = join(host.folder, 'stamps')
      mkdirSync(folder)
      const { url, close } = await stampService(opensslStamps(folder).answer)
      settings(url)
      const act = { who: 'C. Hale', why: 'delivered' }
      const now = Date.now() * 1000
      const ground = { store, ask: host.services.reports.ask(), paper: 'A4' as const }
      const lines = await deliver(ground, { session, out, mail: false, act, nowUtcUs: now, ...dairy })
      close()
      expect(lines).toHaveLength(1)
      expect(store.waitingStamps()).toEqual([])
      const parcel = join(out, 'Bramblewick-Dairy')
      const token = readFileSync(join(parcel, '2026-0001-v1.pdf.tsr'))
      const pdf = readFileSync(join(parcel, '2026-0001-v1.pdf'))
      expect(await verifyStamp(token, pdf, [])).not.toBeNull()
      expect(await verifyStamp(token, readFileSync(join(parcel, '2026-0001-v1.csv')), [])).toBeNull()
      expect(readFileSync(join(parcel, 'SHA256SUMS'), 'utf8')).toContain('2026-0001-v1.pdf.tsr')
    },
    60_000,
  )

  it('stand in the life of each thermometer: as found or as left, and what was adjusted', async () => {
    const { store, records } = { store: host.hosted.store, records: host.hosted.store.records }
    const act = { who: 'C. Hale', why: '' }
    const order = { id: 'o-7', number: '2026-07', customer: 'dairy', received: '2026-02-24', remarks: [] }
    records.saveAll(
      [
        { kind: 'order', value: Order.parse(order) },
        {
          kind: 'item',
          value: Item.parse({
            ...{ id: 'item-prt-x1', order: 'o-7', customer: 'dairy', thermometer: 'prt-x1', session },
            ...{ occasion: 'as-left', condition: 'new sheath', asked: { lowC: 0, highC: 100 } },
          }),
        },
      ],
      act,
    )
    const life = lifeView(host.services, 'thermometer', 'prt-x1')!
    expect(life.events).toContainEqual({
      ...{ date: '2026-02-24', kind: 'item', session, who: null },
      words: 'As left, order 2026-07, Bramblewick Dairy: new sheath',
    })
    // Its signer stated that nothing was adjusted.
    expect(life.events.filter(({ kind }) => kind === 'repair')).toEqual([])
    host.services.sessions.write(session, (file) =>
      file.signOff({
        who: 'C. Hale',
        facts: { statements: { ...NOTHING_TO_STATE, adjustment: 'Leads soldered anew.' }, certificates: {} },
      }),
    )
    expect(lifeView(host.services, 'thermometer', 'prt-x1')!.events).toContainEqual(
      expect.objectContaining({ kind: 'repair', words: 'Leads soldered anew.', who: 'C. Hale', session }),
    )
    expect(store.ledger({ subject: 'item-prt-x1', most: 1 })).toHaveLength(1)
  })

  it('stand beside what was repaired and surveyed: a bath has a life as everything else has', async () => {
    const { store } = host.hosted
    const repair = { id: 'r-1', date: '2026-03-01', what: 'A new pump.', who: 'M. Ode' }
    const repaired = {
      kind: 'repair',
      date: '2026-03-01',
      words: 'A new pump.',
      who: 'M. Ode',
      session: null,
    }
    const survey = {
      ...{ id: 's-1', date: '2026-02-01', who: 'B. Wend' },
      positions: ['middle', 'rim'].map((name) => ({ name, depthMm: 200 })),
      points: [{ celsius: 50, uMk: 1.8, degreesOfFreedom: 6 }],
    }
    const window = windows.open(host.services, 'operator')
    const id = 'bath-1'
    const entry = Bath.parse({ id, name: 'Oil bath', repairs: [repair], surveys: [survey] })
    await window.register.saveBath({ entry, why: 'entered' })
    const life = await window.checks.life({ kind: 'bath', id })
    expect(life.events.map(({ kind }) => kind)).toEqual(['change', 'repair', 'survey'])
    expect(life.events).toContainEqual(repaired)
    expect(life.events.at(-1)).toMatchObject({
      who: 'B. Wend',
      words: 'Uniformity 1.8 mK at 50 °C (u), 2 places',
    })
    const thermometer = store.register().thermometers[0]!
    store.saveThermometer({ ...thermometer, repairs: [repair] }, 'C. Hale', 'repaired')
    expect(lifeView(host.services, 'thermometer', thermometer.id)!.events).toContainEqual(repaired)
    const resistor = {
      ...{ id: 'rs-9', name: 'Rs', nominalOhm: 100, keptAtC: 20, uKeptAtK: 0.01 },
      repairs: [repair],
    }
    store.saveResistor(Resistor.parse(resistor), 'C. Hale', '')
    store.saveInstrument(
      InstrumentRecord.parse({ id: 'br-9', name: 'B', role: 'ratio-bridge', repairs: [repair] }),
      'C. Hale',
      '',
    )
    store.saveCell(
      Cell.parse({ id: 'zn-9', name: 'Zn', fixedPoint: 'Zn', depthM: 0.1, uMk: 1, repairs: [repair] }),
      'C. Hale',
      '',
    )
    for (const [kind, id] of [
      ['resistor', 'rs-9'],
      ['instrument', 'br-9'],
      ['cell', 'zn-9'],
    ] as const)
      expect(lifeView(host.services, kind, id)!.events).toContainEqual(repaired)
  })

  it('come back: the customer reads the file in, its signature is checked, and a changed one is refused', async () => {
    const { store } = host.hosted
    const bytes = readFileSync(join(host.folder, 'parcels', 'Bramblewick-Dairy', '2026-0001-v1.xml'))
    const looked = await lookAtCertificate(store.folder, bytes, NOW)
    expect(looked.signature).toMatch(/Signed by C\. Hale.*no root is known here/)
    const act = { who: 'C. Hale', why: 'new certificate' }
    expect(await takeCertificate(store, bytes, looked, undefined, act)).toMatch(
      /Industrial PRT 1 has the calibration/,
    )
    const taken = store
      .register()
      .thermometers.find((t) => t.id === 'prt-x1')!
      .calibrations.at(-1)!
    expect(taken).toMatchObject({ certificate: '2026-0001/1', file: looked.sha256 })
    expect(existsSync(join(store.folder, 'certificates', 'in', `${looked.sha256}.xml`))).toBe(true)
    const client = windows.open(host.services, 'operator')
    const look = await client.register.lookAtCertificate({ text: bytes.toString() })
    expect(look).toMatchObject({
      number: '2026-0001/1',
      broken: false,
      entries: [{ id: 'prt-x1', name: 'Industrial PRT 1' }],
    })
    expect(look.values).toContainEqual({
      name: 'R0',
      value: expect.stringMatching(/^99\.|^100\./),
      unit: 'Ω',
      place: expect.stringMatching(/^line \d+$/),
    })
    await client.register.takeCertificate({ text: bytes.toString(), to: 'prt-x1', why: 'once more' })
    const ledger = store.ledger({ most: 1 })[0]!
    expect(ledger).toMatchObject({ who: KEEPER.name, subject: 'prt-x1', why: 'once more' })
    const refusal = await refusalOf(client.register.lookAtCertificate({ text: '<order/>' }))
    expect(refusal.words).toMatch(/no Digital Calibration Certificate: its root is order/)
    const forged = Buffer.from(bytes.toString().replace('<si:value>100.', '<si:value>101.'))
    const bad = await lookAtCertificate(store.folder, forged, NOW)
    await expect(takeCertificate(store, forged, bad, undefined, act)).rejects.toThrow(
      /does not hold.*Ask its issuer/,
    )
  })
})
