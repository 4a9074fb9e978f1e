import { implement, ORPCError } from '@orpc/server'
import { isoUtc } from '../../../app/base/clock.ts'
import { checkThermometerChart } from '../../../app/checks/check-history.ts'
import { bridgeChart, chartView, resistorChart, wtpChart } from '../../../app/checks/history.ts'
import { lifeOf } from '../../../app/checks/life.ts'
import { contract } from '../../../app/contract/index.ts'
import { type CallName, NEEDS } from '../../../app/contract/rights.ts'
import { AlarmRules, Settings } from '../../../app/contract/settings.ts'
import type { ArchiveRow, LedgerEntry } from '../../../app/contract/studies.ts'
import { mayDo, RIGHTS } from '../../../app/records/person.ts'
import type { Register } from '../../../app/records/register.ts'
import type { SessionInfo } from '../../../app/records/session.ts'
import { lookAtTable } from '../../../main/store/import/look.ts'
import { BENCHES, UNDECIDED } from './laboratory.ts'
import { dueRecords, ledgerLines, listedRecords, listedSessions, paged, someRecords } from './lists.ts'
import type { FakeStation } from './station.ts'
import { fitsOf, foretoldOf, previewOf, reportPage } from './studies.ts'

const sleep = (ms: number, signal?: AbortSignal) =>
  new Promise<void>((resolve) => {
    const timer = setTimeout(resolve, ms)
    signal?.addEventListener(
      'abort',
      () => {
        clearTimeout(timer)
        resolve()
      },
      { once: true },
    )
  })

/** The register as a past session has it: a certificate of a resistor was misread then. */
function misread(register: Register): Register {
  const [first, ...others] = register.resistors
  const [calibration, ...older] = first?.calibrations ?? []
  if (!first || !calibration) return register
  const wrong = { ...first, calibrations: [{ ...calibration, ohm: '99.99' }, ...older] }
  return { ...register, resistors: [wrong, ...others] }
}

/** A refusal as the real station sends it: the sentence, and the message it was made of. */
const refusal = (words: string) => ({ words, kind: 'refused', code: 'as-told', args: { words } })

const NO_ORDERS = { data: refusal('This made-up station takes no orders.') }
function none(refusal: (options: typeof NO_ORDERS) => Error): never {
  throw refusal(NO_ORDERS)
}

/** The whole contract, answered by a made-up station. */
export function fakeRouter(station: FakeStation) {
  const os = implement(contract).use(({ path, next }) => {
    const need = NEEDS[path.join('.') as CallName]
    if (need !== 'look' && need !== 'window') {
      const words = 'Sign in first.'
      if (station.person === null)
        throw new ORPCError('SIGN_IN', { defined: true, message: words, data: refusal(words) })
      if (need !== 'person' && !mayDo(station.person, need))
        throw new ORPCError('FORBIDDEN', { defined: true, message: words, data: refusal('You may not.') })
    }
    return next()
  })
  const who = () => station.person?.name ?? 'nobody'
  const ok = (words: string) => ({ words })
  const ledger: LedgerEntry[] = []
  let settings = Settings.parse({
    laboratory: {
      name: 'Quennick Temperature Laboratory',
      address: ['1 Still Lane', 'Quennick'],
      country: 'GB',
    },
  })
  let rules = AlarmRules.parse({
    rules: [
      { id: 'silence', kind: 'silence', above: 30, severity: 'alarm' },
      { id: 'disk', kind: 'disk', below: 2e9 },
    ],
  })
  const record = (who: string, what: string, subject: string, old: unknown, next: unknown, why: string) => {
    ledger.push({
      n: ledger.length + 1,
      utcUs: Date.now() * 1000,
      who,
      what,
      subject,
      old: old === null ? null : JSON.stringify(old),
      new: next === null ? null : JSON.stringify(next),
      why,
      hash: (ledger.length + 1).toString(16).padStart(64, '3'),
    })
  }
  const infoOf = (
    id: string,
    name: string,
    ended: boolean,
    startUtcUs = station.startUtcUs,
  ): SessionInfo => ({
    id,
    name,
    kind: 'comparison',
    operator: station.operator || 'A. Operator',
    startedUtcUs: startUtcUs,
    endedUtcUs: ended ? startUtcUs + 5 * 3600e6 : null,
    ending: ended ? 'complete' : null,
    endingReason: null,
    program: 'Stillpoint',
    programVersion: '0.1.0',
    note: '',
  })
  const rowOf = (info: SessionInfo, signedOffBy: string | null): ArchiveRow => ({
    info,
    readings: 1_382_400,
    points: station.points().length,
    bytes: 118e6,
    channels: station.bench?.channels.map((c) => c.name) ?? [],
    thermometers: station.register.thermometers.map((t) => t.id),
    sketch: Array.from({ length: 200 }, (_, i) => station.quantity(0, (i / 200) * 5 * 3600, 'temperature')),
    signedOffBy,
    damaged: null,
  })
  const saved = <T extends { id: string; name: string }>(list: T[], entry: T, why: string, what: string) => {
    const at = list.findIndex((e) => e.id === entry.id)
    record(who(), what, entry.id, list[at] ?? null, entry, why)
    if (at < 0) list.push(entry)
    else list[at] = entry
    station.versions.register++
    return ok(`${entry.name} is saved and entered in the ledger.`)
  }

  const seen = () => ({
    onlooker: station.options.onlooker ?? false,
    person: station.person,
    anybody: station.password !== null,
  })
  const entered = ({ name, password }: { name: string; password: string }) => {
    station.password ??= password
    station.person = { id: 'person', name, rights: [...RIGHTS] }
    return { person: station.person, token: 'token', words: `${name} is signed in.` }
  }

  return os.router({
    station: {
      watch: os.station.watch.handler(async function* ({ signal }) {
        while (!signal?.aborted) {
          yield station.state()
          await sleep(250, signal)
        }
      }),
      state: os.station.state.handler(() => station.state()),
      pace: os.station.pace.handler(({ errors }) => none(errors.REFUSED)),
      practice: os.station.practice.handler(({ errors }) => none(errors.REFUSED)),
      support: os.station.support.handler(() => new Blob(['{}'], { type: 'application/gzip' })),
    },
    live: {
      next: os.live.next.handler(async ({ input, signal }) => {
        const until = Date.now() + input.waitMs
        for (;;) {
          if (station.hasNewer(input.after) || Date.now() >= until || signal?.aborted)
            return station.live(input.after, input.backlogS, input.most)
          await sleep(Math.max(20, 1000 / station.options.rateHz / 4), signal)
        }
      }),
    },
    history: {
      overview: os.history.overview.handler(({ input }) =>
        station.overview(input.channel, input.quantity, input.fromUtcUs, input.toUtcUs, input.buckets),
      ),
      readings: os.history.readings.handler(({ input }) =>
        station.readings(input.channel, input.quantity, input.fromUtcUs, input.toUtcUs, input.most),
      ),
      statistics: os.history.statistics.handler(({ input }) => ({
        n: 600,
        leftOut: 2,
        mean: station.quantity(
          Number(input.channel.slice(3)) - 1,
          ((input.fromUtcUs ?? station.utcUs()) - station.startUtcUs) / 1e6,
          input.quantity,
        ),
        sd: 0.00062,
        nEffective: 214,
        standardError: 0.000042,
        driftPerMin: 0.00011,
        driftUncertaintyPerMin: 0.00004,
        span: 0.0031,
        allan: [1, 2, 4, 8, 16, 32].map((tauS) => ({ tauS, deviation: 0.0006 / Math.sqrt(tauS) })),
        unit: input.quantity === 'resistance' ? 'ohm' : input.quantity === 'raw' ? 'ratio' : 'degC',
      })),
      events: os.history.events.handler(({ input }) => paged(station.events, input)),
    },
    bench: {
      get: os.bench.get.handler(() => station.bench),
      list: os.bench.list.handler(() =>
        station.bench ? [{ id: station.bench.id, name: station.bench.name }] : [],
      ),
      save: os.bench.save.handler(({ input }) => {
        station.bench = input.bench
        station.versions.bench++
        return ok(`${input.bench.name} is saved.`)
      }),
      choose: os.bench.choose.handler(() => ok('Chosen.')),
      ports: os.bench.ports.handler(() => [
        { path: 'ttyUSB0', usbSerial: 'A50285BI', words: 'USB serial adapter', usable: true },
        {
          path: 'ttyS0',
          usbSerial: null,
          words: 'May not be opened: add this user to the group dialout and log in again.',
          usable: false,
        },
      ]),
      profiles: os.bench.profiles.handler(() => ({
        folder: '/home/lab/Stillpoint/profiles',
        rows: [
          {
            id: 'lab-rb-8',
            title: 'Quennick RB-8 ratio bridge',
            role: 'ratio-bridge',
            links: ['tcp', 'serial'],
            from: 'program',
            problem: null,
            ranges: [
              {
                name: '1',
                words:
                  'up to 1 ratio, 0.02 x 1E-6 of the reading and 0.02 x 1E-6 of the range, 2 s to settle',
              },
              { name: 'automatic', words: 'the instrument chooses, 4 s to settle' },
            ],
          },
          {
            id: 'lab-cs-16',
            title: 'Quennick CS-16 scanner',
            role: 'scanner',
            links: ['tcp', 'serial'],
            from: 'program',
            problem: null,
          },
          {
            id: 'lab-tb-2',
            title: 'Quennick TB-2 bath',
            role: 'bath',
            links: ['tcp', 'serial'],
            from: 'program',
            problem: null,
          },
        ],
      })),
      tryInstrument: os.bench.tryInstrument.handler(async () => {
        await sleep(150)
        return [
          { what: 'Open the link', worked: true, words: 'Open.' },
          { what: 'Identify', worked: true, words: 'QUENNICK,RB-8,0817,1.3' },
          { what: 'Measure a ratio', worked: true, words: '+1.07793521E+00' },
          { what: 'Keep-warm current', worked: false, words: 'This instrument has no keep-warm current.' },
        ]
      }),
      look: os.bench.look.handler(() => {
        station.looks += 1
        return ok('Connected.')
      }),
      connect: os.bench.connect.handler(() => station.state().links),
      disconnect: os.bench.disconnect.handler(() => ok('Links closed.')),
      startLab: os.bench.startLab.handler(async () => {
        await sleep(200)
        station.startLab()
        return ok('The lab in a box is running. Its bench, register and plan are the current ones.')
      }),
      adviseResistor: os.bench.adviseResistor.handler(() =>
        station.register.resistors.map((r) => ({
          resistor: r.id,
          name: r.name,
          serves: true,
          partMk: 0.1,
          words: 'Ratios stay between 0.8 and 1.8. It adds about 0.1 mK.',
        })),
      ),
      findAround: os.bench.findAround.handler(() => [
        {
          link: { kind: 'hislip', host: '192.0.2.21', port: 4880, device: 'hislip0' },
          name: 'Bridge in room 4',
          told: 'QUENNICK,RB-8,0817,1.3',
          by: 'announced',
        },
        {
          link: { kind: 'vxi-11', host: '192.0.2.30', device: 'inst0' },
          name: '',
          told: '',
          by: 'broadcast',
        },
      ]),
      askWho: os.bench.askWho.handler(({ input }) =>
        input.links
          .filter(({ kind }) => kind === 'hislip')
          .map((link) => ({ link, identity: 'QUENNICK,RB-8,0817,1.3', profile: 'lab-rb-8' })),
      ),
      findHosts: os.bench.findHosts.handler(({ input }) => [
        {
          link: { kind: 'tcp', host: input.host, port: input.ports[0] ?? 5301 },
          identity: 'QUENNICK,RB-8,0817,1.3',
          profile: 'lab-rb-8',
        },
      ]),
    },
    orders: {
      list: os.orders.list.handler(() => ({ total: 0, rows: [] })),
      get: os.orders.get.handler(({ errors }) => none(errors.NOT_FOUND)),
      save: os.orders.save.handler(({ errors }) => none(errors.REFUSED)),
      move: os.orders.move.handler(({ errors }) => none(errors.REFUSED)),
      customers: os.orders.customers.handler(() => []),
      saveCustomer: os.orders.saveCustomer.handler(({ errors }) => none(errors.REFUSED)),
      fill: os.orders.fill.handler(() => ({
        placed: [],
        setpoints: [],
        left: [],
        onBench: [],
        waiting: [],
        words: 'No item waits.',
      })),
      prepare: os.orders.prepare.handler(({ errors }) => none(errors.REFUSED)),
      receipt: os.orders.receipt.handler(({ errors }) => none(errors.NOT_FOUND)),
      parcels: os.orders.parcels.handler(({ errors }) => none(errors.NOT_FOUND)),
      changedCustomers: os.orders.changedCustomers.handler(() => []),
      deliver: os.orders.deliver.handler(({ errors }) => none(errors.NOT_FOUND)),
      exportCsv: os.orders.exportCsv.handler(() => ''),
      importCsv: os.orders.importCsv.handler(({ errors }) => none(errors.REFUSED)),
    },
    drafts: {
      get: os.drafts.get.handler(({ input }) => station.drafts.get(input.key) ?? null),
      put: os.drafts.put.handler(({ input }) => {
        station.drafts.set(input.key, { json: input.json, utcUs: station.utcUs() })
        return ok('Kept.')
      }),
      drop: os.drafts.drop.handler(({ input }) => {
        station.drafts.delete(input.key)
        return ok('Let go.')
      }),
    },
    plan: {
      list: os.plan.list.handler(() => station.plans),
      save: os.plan.save.handler(({ input }) => {
        const at = station.plans.findIndex((p) => p.id === input.plan.id)
        if (at < 0) station.plans.push(input.plan)
        else station.plans[at] = input.plan
        station.versions.plans++
        return ok(`${input.plan.name} is saved.`)
      }),
      remove: os.plan.remove.handler(({ input }) => {
        station.plans = station.plans.filter((p) => p.id !== input.id)
        station.versions.plans++
        return ok('Removed.')
      }),
      preview: os.plan.preview.handler(({ input }) => previewOf(input.plan, station)),
      foretell: os.plan.foretell.handler(({ input }) => foretoldOf(input.plan, station)),
    },
    run: {
      start: os.run.start.handler(({ input, errors }) => {
        const plan = station.plans.find((p) => p.id === input.plan)
        if (!plan) throw errors.NOT_FOUND({ data: refusal('This plan does not exist any more.') })
        if (station.running) throw errors.BUSY({ data: refusal('A session is running. Stop it first.') })
        const open = previewOf(plan, station).checks.find(
          (c) => c.severity === 'stop' || (c.severity === 'warning' && !input.accept.includes(c.id)),
        )
        if (open) throw errors.REFUSED({ data: refusal(`${open.words} ${open.remedy}`) })
        return { session: station.begin(plan, who(), input.name) }
      }),
      record: os.run.record.handler(({ input }) => ({
        session: station.begin(station.plans[0]!, who(), input.name || 'Recording'),
      })),
      cells: os.run.cells.handler(({ input }) => ({
        session: station.begin(station.plans[0]!, who(), input.name || 'Cells'),
      })),
      pause: os.run.pause.handler(({ input }) => {
        station.paused = true
        station.note(who(), 'decision', `Paused: ${input.why}`)
        return ok('Paused. Readings go on, the plan waits.')
      }),
      resume: os.run.resume.handler(() => {
        station.paused = false
        station.note(who(), 'decision', 'Went on with the plan.')
        return ok('The plan goes on.')
      }),
      takeNow: os.run.takeNow.handler(({ input }) => {
        station.note(who(), 'decision', `Point taken now: ${input.why}`)
        return ok('The point is being taken now.')
      }),
      skip: os.run.skip.handler(({ input }) => {
        station.note(who(), 'decision', `Setpoint skipped: ${input.why}`)
        return ok('Skipped to the next setpoint.')
      }),
      stop: os.run.stop.handler(({ input }) => {
        station.note(who(), 'closed', `Stopped: ${input.why}`)
        station.stop('stopped-by-person')
        return ok('Stopped. The bath goes to its safe setpoint.')
      }),
      answer: os.run.answer.handler(() => ok('Answered.')),
      note: os.run.note.handler(({ input }) => {
        station.note(who(), 'note', input.words)
        return ok('Noted.')
      }),
    },
    points: {
      list: os.points.list.handler(() => station.points()),
      fits: os.points.fits.handler(() => fitsOf(station)),
      report: os.points.report.handler(() => ({ fits: fitsOf(station) })),
      reportHtml: os.points.reportHtml.handler(() => reportPage(station)),
      reportPdf: os.points.reportPdf.handler(
        () => new Blob(['%PDF-1.7\n%%EOF'], { type: 'application/pdf' }),
      ),
      certificates: os.points.certificates.handler(() => [
        {
          thermometer: 'prt-1',
          name: 'PRT 1',
          serial: '1001',
          number: null,
          version: 1,
          signed: false,
          languages: ['en'],
          digital: true,
          file: 'draft-1001',
        },
      ]),
      certificateHtml: os.points.certificateHtml.handler(() =>
        reportPage(station).replace('Calibration record', 'Calibration certificate'),
      ),
      certificatePdf: os.points.certificatePdf.handler(() => new Blob(['%PDF-1.7'])),
      certificateXml: os.points.certificateXml.handler(() => new Blob(['<certificate/>'])),
      thread: os.points.thread.handler(({ input }) => ({
        key: input.key,
        name: `Number ${input.key}`,
        value: '100.0123',
        unit: 'degC',
        formula: 't90 = f(W), W = R / R(WTP)',
        source: 'ITS-90, section 3.3',
        inputs: [
          {
            key: `${input.key}/R`,
            name: 'Resistance',
            value: '138.5123',
            unit: 'ohm',
            words: 'Mean of 60 readings',
          },
          { key: null, name: 'R(WTP)', value: '100.00518', unit: 'ohm', words: 'Certificate Q-26-101' },
        ],
        readings: { channel: 'ch-1', firstSeq: 1001, lastSeq: 1900, count: 60 },
      })),
      signOffHolds: os.points.signOffHolds.handler(() => ({
        refusal: null,
        gaps: [],
        findings: [],
        hasKey: false,
        keepsPassword: false,
      })),
      signOff: os.points.signOff.handler(({ input, errors }) => {
        if (input.password !== station.password)
          throw errors.FORBIDDEN({ data: refusal('The password is not right.') })
        station.signedOffBy = who()
        station.versions.points++
        station.versions.sessions++
        return ok(`Signed off by ${who()}.`)
      }),
      leaveOut: os.points.leaveOut.handler(({ input }) => {
        const key = input.channel ? `${input.point}/${input.channel}` : input.point
        if (input.restore) station.leftOut.delete(key)
        else station.leftOut.add(key)
        station.note(who(), 'decision', `${input.restore ? 'Taken back' : 'Left out'}: ${key}. ${input.why}`)
        station.versions.points++
        return ok(input.restore ? 'It counts again.' : 'It is left out, and the record says why.')
      }),
    },
    archive: {
      sessions: os.archive.sessions.handler(({ input }) => {
        const rows: ArchiveRow[] = []
        if (station.sessionId)
          rows.push(
            rowOf(infoOf(station.sessionId, station.sessionName, !station.running), station.signedOffBy),
          )
        if (station.bench)
          for (let i = 1; i <= 3; i++)
            rows.push(
              rowOf(
                infoOf(`old-${i}`, `Night run of last week, ${i}`, true, (Date.now() - i * 864e5 * 7) * 1000),
                i > 1 ? 'B. Signer' : null,
              ),
            )
        return listedSessions(rows, input)
      }),
      open: os.archive.open.handler(({ input, errors }) => {
        if (!station.bench) throw errors.NOT_FOUND({ data: refusal('This session is not in the archive.') })
        return {
          info: infoOf(input.session, station.sessionName || 'Night run', true),
          setup: {
            bench: station.bench,
            plan: station.plans[0] ?? null,
            register: misread(station.register),
            profiles: {},
            laboratory: settings.laboratory,
            job: null,
          },
          readings: 1_382_400,
          lastUtcUs: station.utcUs(),
          copiedUtcUs: null,
        }
      }),
      verify: os.archive.verify.handler(async () => {
        await sleep(300)
        return {
          whole: true,
          readings: 1_382_400,
          batches: 43_200,
          head: 'a91f'.repeat(16),
          firstBreak: null,
          words: 'Every reading is as it was written: 1 382 400 readings in 43 200 batches.',
        }
      }),
      compare: os.archive.compare.handler(() => ({
        words: '1 of 3 numbers differs.',
        moved: [
          {
            thermometer: 'prt-1',
            name: 'Thermometer 01',
            serial: 'T-01',
            points: [{ celsius: 0, differenceMk: -0.5, expandedMk: 4.2, agrees: true }],
          },
        ],
        lines: [
          {
            key: 'R0',
            what: 'Thermometer 01, R0',
            old: '100.0012',
            new: '100.0014',
            difference: '+0.0002',
            unit: 'ohm',
            changed: true,
          },
          {
            key: 'A',
            what: 'Thermometer 01, A',
            old: '3.9083e-3',
            new: '3.9083e-3',
            difference: '0',
            unit: '1/K',
            changed: false,
          },
        ],
      })),
      annotate: os.archive.annotate.handler(() => ok('The note is kept with the session.')),
      takeRecordsOfNow: os.archive.takeRecordsOfNow.handler(() =>
        ok('The records of Standard S1 are those of now; results are computed with them.'),
      ),
      export: os.archive.export.handler(({ input }) => new Blob([`format ${input.format}\n`])),
      backup: os.archive.backup.handler(() => ok('Copied and checked.')),
      backupAll: os.archive.backupAll.handler(() => ok('Everything is copied.')),
      restoreBackup: os.archive.restoreBackup.handler(() => ok('Restored.')),
      lookAtTable: os.archive.lookAtTable.handler(({ input }) => lookAtTable(input.beginning)),
      importTable: os.archive.importTable.handler(async ({ input }) => ({
        session: 'night-1',
        words: `${(await input.table.arrayBuffer()).byteLength} bytes imported.`,
      })),
      replay: os.archive.replay.handler(async function* ({ input, signal }) {
        const state = station.state()
        for (let i = 0; i < 400 && !signal?.aborted; i++) {
          state.utcUs += Math.round(250_000 * input.speed)
          yield structuredClone(state)
          await sleep(250, signal)
        }
      }),
    },
    register: {
      list: os.register.list.handler(({ input }) => listedRecords(station.register, input, station.retired)),
      some: os.register.some.handler(({ input }) => someRecords(station.register, input)),
      retire: os.register.retire.handler(({ input }) => {
        station.retired.add(input.id)
        station.versions.register++
        return ok('It is out of the lists.')
      }),
      bringBack: os.register.bringBack.handler(({ input }) => {
        station.retired.delete(input.id)
        station.versions.register++
        return ok('It is back in the lists.')
      }),
      saveThermometer: os.register.saveThermometer.handler(({ input }) =>
        saved(station.register.thermometers, input.entry, input.why, 'thermometer saved'),
      ),
      saveResistor: os.register.saveResistor.handler(({ input }) =>
        saved(station.register.resistors, input.entry, input.why, 'resistor saved'),
      ),
      saveInstrument: os.register.saveInstrument.handler(({ input }) =>
        saved(station.register.instruments, input.entry, input.why, 'instrument saved'),
      ),
      saveFluid: os.register.saveFluid.handler(({ input }) =>
        saved(station.register.fluids, input.entry, input.why, 'fluid saved'),
      ),
      saveCell: os.register.saveCell.handler(({ input }) => {
        station.register.cells ??= []
        return saved(station.register.cells, input.entry, input.why, 'cell saved')
      }),
      saveBath: os.register.saveBath.handler(({ input }) => {
        station.register.baths ??= []
        return saved(station.register.baths, input.entry, input.why, 'bath saved')
      }),
      checkThermometer: os.register.checkThermometer.handler(({ input }) => {
        const conversion = input.entry.calibrations.at(-1)?.conversion
        if (conversion?.kind === 'callendar-van-dusen' && Math.abs(Number(conversion.a) - 3.9083e-3) > 3e-5)
          return [
            {
              severity: 'error' as const,
              words: 'A differs from the industrial value by more than 1 %. Look for a misplaced digit.',
            },
          ]
        return [
          { severity: 'note' as const, words: 'W at gallium is 1.11812, above 1.11807 as ITS-90 asks.' },
        ]
      }),
      restore: os.register.restore.handler(() => ok('The record stands again as it did before.')),
      dueDates: os.register.dueDates.handler(({ input }) => dueRecords(station.register, input)),
      ledger: os.register.ledger.handler(({ input }) => ledgerLines(ledger, input)),
      ledgerEntry: os.register.ledgerEntry.handler(({ input, errors }) => {
        const entry = ledger.find(({ n }) => n === input.n)
        if (!entry) throw errors.NOT_FOUND({ data: refusal('The ledger has no such entry.') })
        return entry
      }),
      lookAtCertificate: os.register.lookAtCertificate.handler(({ errors }) => none(errors.REFUSED)),
      takeCertificate: os.register.takeCertificate.handler(({ errors }) => none(errors.REFUSED)),
      importFile: os.register.importFile.handler(() => ok('Nothing new in the file.')),
      exportFile: os.register.exportFile.handler(
        ({ input }) => new Blob([input.format === 'json' ? JSON.stringify(station.register) : 'id,name\n']),
      ),
    },
    checks: {
      takeWtp: os.checks.takeWtp.handler(() => ok('R(WTP) is in the register.')),
      enterCalibration: os.checks.enterCalibration.handler(() => ok('The calibration is in the register.')),
      measuredWtp: os.checks.measuredWtp.handler(() => []),
      plateau: os.checks.plateau.handler(({ errors }) => {
        throw errors.NOT_FOUND({ data: refusal('This station has recorded no cell.') })
      }),
      life: os.checks.life.handler(({ input, errors }) => {
        const own = station.register.thermometers.find(({ id }) => id === input.id)
        if (!own) throw errors.NOT_FOUND({ data: refusal(`There is no "${input.id}" in the register.`) })
        const { curves, forecast, advice } = lifeOf(own)
        return {
          events: own.calibrations.map(({ date, certificate }) => ({
            date,
            kind: 'calibration' as const,
            words: certificate,
            who: null,
            session: null,
          })),
          curves: curves.map((c) => ({ ...c, points: [...c.points] })),
          forecast: [...forecast],
          nights: [],
          advice,
        }
      }),
      certificateHolds: os.checks.certificateHolds.handler(({ errors }) => none(errors.NOT_FOUND)),
      signCertificate: os.checks.signCertificate.handler(({ errors }) => none(errors.REFUSED)),
      certificate: os.checks.certificate.handler(({ errors }) => {
        throw errors.NOT_FOUND({ data: refusal('No calibration was made of plateaus here.') })
      }),
      record: os.checks.record.handler(() => ok('The check is in the register.')),
      practise: os.checks.practise.handler(() => ok('Sessions to practise on are in the archive.')),
      charted: os.checks.charted.handler(({ input }) => {
        const { thermometers, resistors, instruments } = station.register
        const of = {
          rwtp: thermometers.filter(({ wtpHistory }) => wtpHistory.length > 0),
          'check-thermometer': [],
          resistor: resistors.filter(({ calibrations }) => calibrations.length > 0),
          bridge: instruments.filter(({ checks = [] }) => checks.length > 0),
        }[input.kind]
        return {
          ...paged(
            of.map(({ id, name }) => ({ id, name })),
            input,
          ),
          pending: 0,
        }
      }),
      history: os.checks.history.handler(({ input, errors }) => {
        const { thermometers, resistors, instruments } = station.register
        const thermometer = thermometers.find(({ id }) => id === input.id)
        const resistor = resistors.find(({ id }) => id === input.id)
        const instrument = instruments.find(({ id }) => id === input.id)
        const chart =
          input.kind === 'bridge' && instrument
            ? bridgeChart(instrument)
            : input.kind === 'resistor' && resistor
              ? resistorChart(resistor)
              : thermometer &&
                (input.kind === 'rwtp'
                  ? wtpChart(thermometer)
                  : checkThermometerChart(thermometer, [], input.celsius))
        if (!chart) throw errors.NOT_FOUND({ data: refusal(`There is no "${input.id}" in the register.`) })
        return chartView(chart, 0)
      }),
    },
    wire: {
      traffic: os.wire.traffic.handler(async function* ({ input, signal }) {
        const lines = (utcUs: number, k: number) => {
          const instrument = station.bench?.instruments[k % 3]?.id ?? 'bridge'
          return [
            {
              instrument,
              utcUs,
              direction: 'sent' as const,
              text: k % 3 === 0 ? 'FETC?\\n' : k % 3 === 1 ? 'ROUT:CLOS? (@101:116)\\n' : 'SENS:TEMP?\\n',
            },
            {
              instrument,
              utcUs: utcUs + 1800,
              direction: 'received' as const,
              text: k % 3 === 0 ? `+1.0779${k}E+00\\n` : k % 3 === 1 ? '1\\r\\n' : '100.0012\\n',
            },
          ]
        }
        const now = Date.now() * 1000
        let k = 0
        for (; k < input.backlog / 2; k++)
          for (const line of lines(now - (input.backlog / 2 - k) * 300_000, k))
            if (!input.instrument || input.instrument === line.instrument) yield line
        while (!signal?.aborted) {
          await sleep(300, signal)
          for (const line of lines(Date.now() * 1000, k++))
            if (!input.instrument || input.instrument === line.instrument) yield line
        }
      }),
      converse: os.wire.converse.handler(({ input, errors }) => {
        if (station.running && !input.override)
          throw errors.BUSY({
            data: refusal('This link runs a session. Typing into it can disturb a reading.'),
          })
        return { reply: input.line.endsWith('?') ? 'QUENNICK,RB-8,0817,1.3' : null }
      }),
    },
    alarms: {
      list: os.alarms.list.handler(({ input }) => paged(station.alarms, input)),
      acknowledge: os.alarms.acknowledge.handler(({ input }) => {
        station.alarms = station.alarms.map((a) =>
          a.id === input.id ? { ...a, acknowledgedBy: who(), acknowledgedUtcUs: station.utcUs() } : a,
        )
        return ok(`Acknowledged at ${isoUtc(station.utcUs())}.`)
      }),
      rules: os.alarms.rules.handler(() => rules),
      saveRules: os.alarms.saveRules.handler(({ input }) => {
        rules = input.rules
        return ok('The alarm rules are saved.')
      }),
    },
    settings: {
      get: os.settings.get.handler(() => settings),
      save: os.settings.save.handler(({ input }) => {
        settings = input.settings
        station.versions.settings++
        return ok('The settings are saved.')
      }),
      forwarding: os.settings.forwarding.handler(() => {
        const { mqtt, postgres } = settings.forward
        const words = 'Every reading is there.'
        return [mqtt && ('mqtt' as const), postgres && ('postgres' as const)]
          .filter((kind) => kind !== null)
          .map((kind) => ({ kind, state: 'up-to-date' as const, behind: 0, words }))
      }),
    },
    laboratory: {
      // An empty station is a laboratory of one bench.
      benches: os.laboratory.benches.handler(() =>
        station.bench
          ? { exchange: { state: 'up-to-date' as const, words: 'The same.', troubles: [] }, benches: BENCHES }
          : { exchange: null, benches: [] },
      ),
      undecided: os.laboratory.undecided.handler(() => (station.bench ? UNDECIDED : [])),
      decide: os.laboratory.decide.handler(() => ok('It is decided.')),
    },
    people: {
      me: os.people.me.handler(() => seen()),
      comeBack: os.people.comeBack.handler(() => seen()),
      enterFirst: os.people.enterFirst.handler(({ input }) => entered(input)),
      signIn: os.people.signIn.handler(({ input, errors }) => {
        if (input.password !== station.password)
          throw errors.FORBIDDEN({ data: refusal('Name or password are not right.') })
        return entered(input)
      }),
      signOut: os.people.signOut.handler(() => {
        station.person = null
        return ok('Nobody is signed in.')
      }),
      changePassword: os.people.changePassword.handler(({ input }) => {
        station.password = input.next
        return { token: 'token', words: 'The new password holds.' }
      }),
      list: os.people.list.handler(() => (station.person ? [station.person] : [])),
      save: os.people.save.handler(({ input }) => ok(`${input.name} is stored.`)),
    },
    tokens: {
      list: os.tokens.list.handler(() => []),
      make: os.tokens.make.handler(() => ({ token: 'made up', words: 'Made up.' })),
      revoke: os.tokens.revoke.handler(() => ok('Revoked.')),
    },
    validation: {
      state: os.validation.state.handler(() => ({
        ...{
          version: '0.1.0',
          fingerprint: 'made up',
          running: null,
          last: null,
          accepted: null,
          before: null,
        },
        required: settings.signOffNeedsValidation,
        words: 'Version 0.1.0 as it is installed here has not been validated yet.',
      })),
      run: os.validation.run.handler(() => ok('Passed.')),
      accept: os.validation.accept.handler(() => ok('')),
      paper: os.validation.paper.handler(() => new Blob([])),
    },
  })
}
