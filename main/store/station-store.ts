import { randomUUID } from 'node:crypto'
import { existsSync, rmSync, statSync } from 'node:fs'
import { basename, join } from 'node:path'
import { isDeepStrictEqual } from 'node:util'
import { holdsSecret } from '../../app/base/address-secret.ts'
import type { Clock } from '../../app/base/clock.ts'
import { counted } from '../../app/base/plural.ts'
import { AlarmRules, LaboratorySettings, type Settings } from '../../app/contract/settings.ts'
import type { ArchiveRow, LedgerEntry } from '../../app/contract/studies.ts'
import { asTold, said } from '../../app/messages/said.ts'
import type { Bath } from '../../app/records/bath.ts'
import type { Bench } from '../../app/records/bench.ts'
import type { Cell } from '../../app/records/cell.ts'
import type { Plan } from '../../app/records/plan.ts'
import type { Fluid, InstrumentRecord, Register, Resistor, Thermometer } from '../../app/records/register.ts'
import {
  certificateList,
  giveNumbers,
  numbersOf,
  stampArrived,
  waitForStamp,
  waitingStamps,
} from './certificates.ts'
import { CheckPoints } from './check-points.ts'
import { Drafts } from './drafts.ts'
import { asStoreError, StoreError } from './errors.ts'
import { TAKE } from './laboratory/tables.ts'
import { Ledger, type LedgerQuery, type NewLedgerEntry } from './ledger.ts'
import { refuseShare } from './local-disk.ts'
import { type FolderHold, holdFolder } from './lock.ts'
import { refuseLostStation, setAsideDamaged, withWayOut } from './lost-station.ts'
import { checkVersion, migrate } from './migrate.ts'
import { stationMigrations } from './migrations/station/index.ts'
import { People } from './people.ts'
import { privateFolder } from './private.ts'
import type { Kind } from './records/kinds.ts'
import { type Act, Records } from './records/records.ts'
import { renewStation } from './renew-station.ts'
import { openSessionFile, type SessionFile } from './session-file.ts'
import {
  emptyList,
  filedOf,
  listSessions,
  removeUnfinished,
  type Sketch,
  sessionFilePath,
  sessionFilesOf,
  sessionFolder,
  sessionIdOf,
  sessionIds,
  storeFiled,
  takeOldLooks,
} from './session-list.ts'
import { createDatabase, type Db, inTransaction, openDatabase, prepared } from './sqlite.ts'
import { putBench, takeBaths } from './take-baths.ts'
import { verifySession } from './verify.ts'

/** Where the laboratory has set none. */
const DEFAULT_PATTERN = '{year}-{number:4}'

export interface StationStoreOptions {
  clock: Pick<Clock, 'now'>
  /** Reading needs no hold of the folder and goes beside a running station. */
  mode?: 'write' | 'read'
  sketch?: Sketch
  /**
   * Makes a new station.db where there is none although there are sessions, or where it is damaged; the damaged one stays
   * beside it. Without this both are refused: a register must not be empty one morning without a word.
   */
  makeAnew?: boolean
}

/** Head of a session's chain as it was noted here. */
export interface Anchor {
  utcUs: number
  batch: number
  head: string
}

/**
 * Opens a station's data folder, making it where there is none: station.db and one file per session in `sessions`.
 * Throws StoreError 'locked' where another station has it, 'newer', 'damaged' or 'input-output'.
 */
export function openStationStore(folder: string, options: StationStoreOptions): StationStore {
  const path = join(folder, 'station.db')
  if (options.mode === 'read') {
    const db = openDatabase(path, 'station', 'read')
    try {
      const older = checkVersion(db, 'station', stationMigrations)
      const store = older ? undefined : new StationStore(folder, db, options, undefined)
      if (!store || store.records.rowsAreOld)
        throw new StoreError('refused', said('station-form-older', { path }))
      return store
    } catch (fault) {
      db.close()
      throw asStoreError(fault, path)
    }
  }
  refuseShare(folder)
  const hold = holdFolder(folder)
  let db: Db | undefined
  try {
    privateFolder(sessionFolder(folder))
    removeUnfinished(folder)
    if (options.makeAnew) setAsideDamaged(path)
    if (existsSync(path) && statSync(path).size > 0) {
      db = openDatabase(path, 'station', 'write')
      if (checkVersion(db, 'station', stationMigrations)) {
        db.close()
        renewStation(path)
        db = openDatabase(path, 'station', 'write')
      }
    } else {
      if (!options.makeAnew) refuseLostStation(folder, path)
      rmSync(path, { force: true })
      db = createDatabase(path, 'station')
      migrate(db, stationMigrations)
    }
    const store = new StationStore(folder, db, options, hold)
    store.records.renewRows()
    inTransaction(db, () => takeBaths(store.records))
    store.people.takeCustodian()
    return store
  } catch (fault) {
    db?.close()
    hold.release()
    throw withWayOut(asStoreError(fault, path), folder, path)
  }
}

/** How long a look at a bench is kept, us. */
const LOOK_KEPT_US = 86_400e6

/** The lasting records of one station. Every version of every record stays; every change has its entry in the ledger. */
export class StationStore {
  readonly folder: string
  /** The lasting records, of every kind. */
  readonly records: Records
  /** What is half typed. */
  readonly drafts: Drafts
  /** What check thermometers were found to deviate by, session by session. */
  readonly checkPoints: CheckPoints
  readonly people: People
  readonly #db: Db
  readonly #clock: Pick<Clock, 'now'>
  readonly #sketch: Sketch | undefined
  readonly #hold: FolderHold | undefined
  readonly #ledger: Ledger

  /** Use openStationStore. */
  constructor(folder: string, db: Db, options: StationStoreOptions, hold: FolderHold | undefined) {
    this.folder = folder
    this.#db = db
    this.#clock = options.clock
    this.#sketch = options.sketch
    this.#hold = hold
    this.#ledger = new Ledger(db)
    this.checkPoints = new CheckPoints(db)
    this.drafts = new Drafts(db, () => this.#now())
    this.records = new Records(db, {
      ledger: this.#ledger,
      now: () => this.#now(),
      station: () => this.station,
    })
    this.people = new People(db, { ledger: this.#ledger, records: this.records, now: () => this.#now() })
  }

  /** The whole register, which a station of many years seldom needs: records.one and registerOf read what is asked for. */
  /** UUID of this station, given when its records were begun; a copy of its folder can be given another. */
  get station(): string {
    return String(this.#db.prepare('SELECT station FROM identity ORDER BY n DESC LIMIT 1').pluck().get())
  }

  /** This folder is a copy of another station's and becomes one of its own: what is kept for the other is not given here. */
  renewIdentity({ who, why }: Act): void {
    inTransaction(this.#db, () => {
      const old = this.station
      this.#db.prepare('INSERT INTO identity VALUES ((SELECT max(n) + 1 FROM identity), ?)').run(randomUUID())
      this.#db.exec('DELETE FROM laboratory; DELETE FROM stock')
      this.#ledger.append(
        { who, what: 'identity changed', subject: 'station', old, new: this.station, why },
        this.#now(),
      )
    })
  }

  /** This folder goes on under its identity although another has worked under it since: that one is gone. */
  takeIdentity({ who, why }: Act): void {
    inTransaction(this.#db, () => {
      this.#db.prepare('UPDATE laboratory SET next_token = ?').run(TAKE)
      this.#db.exec('DELETE FROM stock')
      this.#ledger.append(
        { who, what: 'identity taken', subject: 'station', old: null, new: this.station, why },
        this.#now(),
      )
    })
  }

  register(): Register {
    return {
      thermometers: this.records.all('thermometer'),
      resistors: this.records.all('resistor'),
      instruments: this.records.all('instrument'),
      fluids: this.records.all('fluid'),
      cells: this.records.all('cell'),
      baths: this.records.all('bath'),
    }
  }

  /** Of the register what has one of these ids. */
  registerOf(ids: {
    thermometers?: Iterable<string | undefined> | undefined
    resistors?: Iterable<string | undefined> | undefined
    instruments?: Iterable<string | undefined> | undefined
    fluids?: Iterable<string | undefined> | undefined
    cells?: Iterable<string | undefined> | undefined
    baths?: Iterable<string | undefined> | undefined
  }): Register {
    return {
      thermometers: this.records.some('thermometer', ids.thermometers ?? []),
      resistors: this.records.some('resistor', ids.resistors ?? []),
      instruments: this.records.some('instrument', ids.instruments ?? []),
      fluids: this.records.some('fluid', ids.fluids ?? []),
      ...(ids.cells && { cells: this.records.some('cell', ids.cells) }),
      ...(ids.baths && { baths: this.records.some('bath', ids.baths) }),
    }
  }

  /** The entries of now that a register of another day has. */
  registerLike(then: Register): Register {
    const ids = (entries: readonly { id: string }[]) => entries.map(({ id }) => id)
    return this.registerOf({
      thermometers: ids(then.thermometers),
      resistors: ids(then.resistors),
      instruments: ids(then.instruments),
      fluids: ids(then.fluids),
      ...(then.baths && { baths: ids(then.baths) }),
    })
  }

  /** What of the register a bench uses. */
  registerOfBench({ channels, instruments, bath }: Bench): Register {
    return this.registerOf({
      thermometers: channels.map(({ thermometer }) => thermometer),
      resistors: channels.map(({ reference }) =>
        reference?.kind === 'resistor' ? reference.resistor : undefined,
      ),
      instruments: instruments.map(({ register }) => register),
      fluids: [bath?.fluid],
      ...(bath?.register !== undefined && { baths: [bath.register] }),
    })
  }

  saveThermometer(entry: Thermometer, who: string, why: string): void {
    this.records.save('thermometer', entry.id, entry, { who, why })
  }

  saveResistor(entry: Resistor, who: string, why: string): void {
    this.records.save('resistor', entry.id, entry, { who, why })
  }

  saveInstrument(entry: InstrumentRecord, who: string, why: string): void {
    this.records.save('instrument', entry.id, entry, { who, why })
  }

  saveFluid(entry: Fluid, who: string, why: string): void {
    this.records.save('fluid', entry.id, entry, { who, why })
  }

  saveCell(entry: Cell, who: string, why: string): void {
    this.records.save('cell', entry.id, entry, { who, why })
  }

  saveBath(entry: Bath, who: string, why: string): void {
    this.records.save('bath', entry.id, entry, { who, why })
  }

  benches(): Bench[] {
    return this.records.all('bench')
  }

  saveBench(bench: Bench, who: string, why: string): void {
    this.records.save('bench', bench.id, bench, { who, why })
  }

  /** As `saveBench`; a bath that names no entry of the register gets one. */
  saveBenchAndBath(bench: Bench, who: string, why: string): void {
    inTransaction(this.#db, () => putBench(this.records, bench, { who, why }))
  }

  plans(): Plan[] {
    return this.records.all('plan')
  }

  savePlan(plan: Plan, who: string, why: string): void {
    this.records.save('plan', plan.id, plan, { who, why })
  }

  /** The plan leaves the list; its versions stay. Throws StoreError 'not-found'. */
  removePlan(id: string, who: string, why: string): void {
    this.records.remove('plan', id, { who, why })
  }

  /** What a laboratory of several benches has in common stands in a record of its own, which they share. */
  settings(): Settings | undefined {
    const own = this.records.one('settings', 'station')
    if (!own?.sharedRegister) return own
    return { ...own, ...this.records.one('laboratory', 'laboratory') }
  }

  saveSettings(settings: Settings, who: string, why = ''): void {
    const { mqtt, postgres } = settings.forward
    refuseSecrets(mqtt?.url, postgres?.url, settings.sharedRegister?.url, settings.stampUrl)
    inTransaction(this.#db, () => {
      this.records.put('settings', 'station', settings, { who, why })
      if (!settings.sharedRegister) return
      const shared = LaboratorySettings.strip().parse(settings)
      if (!isDeepStrictEqual(shared, this.records.one('laboratory', 'laboratory')))
        this.records.put('laboratory', 'laboratory', shared, { who, why })
    })
  }

  alarmRules(): AlarmRules {
    return this.records.one('alarm-rules', 'station') ?? AlarmRules.parse({ rules: [] })
  }

  saveAlarmRules(rules: AlarmRules, who: string, why = ''): void {
    refuseSecrets(rules.email?.host, rules.webhook?.url)
    this.records.save('alarm-rules', 'station', rules, { who, why })
  }

  ledger(query: LedgerQuery = {}): LedgerEntry[] {
    return this.#ledger.list(query).map((entry) => this.#whole(entry))
  }

  ledgerLines(query: LedgerQuery = {}): ReturnType<Ledger['lines']> {
    return this.#ledger.lines(query)
  }

  /** One entry of the ledger, with what it changed whole; undefined where there is none. */
  ledgerEntry(n: number): LedgerEntry | undefined {
    const entry = this.#ledger.entry(n)
    return entry && this.#whole(entry)
  }

  appendLedger(entry: NewLedgerEntry): LedgerEntry {
    return inTransaction(this.#db, () => this.#ledger.append(entry, this.#clock.now().utcUs))
  }

  verifyLedger(): ReturnType<Ledger['verify']> {
    return this.#ledger.verify()
  }

  sessions(search = '', most = 200): ArchiveRow[] {
    return this.sessionPage(search, most).rows
  }

  /** The newest sessions with these words, and how many there are in all. */
  sessionPage(search: string, most: number): { total: number; rows: ArchiveRow[] } {
    return listSessions(this.#db, { search, most })
  }

  /** Ids of sessions, the newest first. */
  sessionIds(which: 'all' | 'ended' | 'open' = 'all'): string[] {
    return sessionIds(this.#db, which)
  }

  hasSession(id: string): boolean {
    return prepared(this.#db, 'SELECT 1 FROM session WHERE id = ?').get(id) !== undefined
  }

  /** Whether a session is listed whose file lies at another bench. */
  isAway(id: string): boolean {
    return prepared(this.#db, 'SELECT 1 FROM session WHERE id = ? AND away = 1').get(id) !== undefined
  }

  /** Looks at a bench are kept for a day; older ones go, the list's row and the file. */
  dropOldLooks(): void {
    const files = inTransaction(this.#db, () => takeOldLooks(this.#db, this.#now() - LOOK_KEPT_US))
    for (const file of files)
      for (const ending of ['', '-wal', '-shm'])
        rmSync(join(sessionFolder(this.folder), file + ending), { force: true })
  }

  /** Gives the certificates of a session their numbers, or those they have; what is new stands in the ledger. */
  giveCertificateNumbers(
    session: string,
    thermometers: readonly string[],
    who: string,
  ): Record<string, string> {
    const { certificatePattern: pattern = DEFAULT_PATTERN, sharedRegister } = this.settings() ?? {}
    return inTransaction(this.#db, () => {
      const before = numbersOf(this.#db, session)
      const given = giveNumbers(
        ...([this.#db, session, thermometers, pattern, this.#clock.now().utcUs] as const),
        Boolean(sharedRegister),
      )
      const fresh = Object.entries(given).filter(([thermometer]) => before[thermometer] === undefined)
      if (fresh.length > 0) {
        this.#ledger.append(
          {
            who,
            what: 'certificate numbers given',
            subject: session,
            old: null,
            new: fresh.map(([thermometer, number]) => `${number} ${thermometer}`).join(', '),
            why: 'sign-off',
          },
          this.#clock.now().utcUs,
        )
      }
      return given
    })
  }

  /** Every certificate number given, in the order of its series. */
  certificates(): ReturnType<typeof certificateList> {
    return certificateList(this.#db)
  }

  /** Signed files that wait for a time stamp. */
  waitingStamps(): ReturnType<typeof waitingStamps> {
    return waitingStamps(this.#db)
  }

  waitForStamp(session: string, file: string): void {
    waitForStamp(this.#db, session, file, this.#clock.now().utcUs)
  }

  stampArrived(session: string, file: string): void {
    stampArrived(this.#db, session, file)
  }

  sessionPath(id: string): string {
    return sessionFilePath(this.folder, id)
  }

  /** Takes a session into the list, or its row up to date, and notes the head of its chain here. */
  registerSession(file: SessionFile): void {
    const filed = filedOf(file, this.#sketch)
    inTransaction(this.#db, () => {
      storeFiled(this.#db, filed)
      this.#anchor(file)
      // What was added to it since is to be sent on as well.
      this.#db.prepare('UPDATE sent SET confirmed = 0 WHERE session = ?').run(sessionIdOf(file))
    })
  }

  /** Heads of a session's chain that were noted here, the oldest first: what `verify` holds its file against. */
  anchors(session: string): Anchor[] {
    return prepared(
      this.#db,
      'SELECT utc_us AS utcUs, batch, head FROM anchor WHERE session = ? ORDER BY n',
    ).all(session) as Anchor[]
  }

  /**
   * Builds the list of sessions again from the files, and takes entries of the register, benches and plans that are
   * not here from the newest whole session that has them: nothing is taken from one whose chain is broken. Returns what it
   * did, in words.
   */
  rebuild(who: string): string[] {
    const words: string[] = []
    const rows: { startedUtcUs: number; path: string; id: string; store: () => void }[] = []
    for (const { id, path, file, words: trouble } of sessionFilesOf(this.folder)) {
      try {
        if (!file) throw new StoreError('damaged', asTold(trouble ?? ''))
        const filed = filedOf(file, this.#sketch)
        const anchor = file.anchor()
        const { startedUtcUs } = filed.row.info
        const store = () => {
          storeFiled(this.#db, filed)
          this.#noteAnchor(id, anchor)
        }
        rows.push({ startedUtcUs, path, id, store })
      } catch (fault) {
        words.push(`${basename(path)}: ${fault instanceof Error ? fault.message : String(fault)}`)
      }
    }
    const newest = rows.toSorted((a, b) => b.startedUtcUs - a.startedUtcUs || (a.id < b.id ? 1 : -1))
    const { entries, refused } = this.#missingIn(newest)
    words.push(...refused)
    inTransaction(this.#db, () => {
      emptyList(this.#db)
      for (const { store } of rows) store()
      words.push(`${counted(rows.length, 'session')} listed.`)
      for (const { kind, id, value, from } of entries) {
        this.records.put(kind, id, value, { who, why: `taken from session ${from}` })
        words.push(`${kind} ${id} taken from session ${from}.`)
      }
      this.#ledger.append(
        { who, what: 'rebuilt', subject: 'station', old: null, new: null, why: words.join(' ') },
        this.#now(),
      )
    })
    return words
  }

  /** Of sessions in this order, the first whole one's version of every record that is not here; and which are broken. */
  #missingIn(sessions: readonly { path: string; id: string }[]) {
    const found = new Map<string, { kind: Kind; id: string; value: unknown; from: string }>()
    const refused: string[] = []
    for (const { path, id: from } of sessions) {
      const missing = entriesOfFile(path).filter(
        ([kind, { id }]) => !found.has(`${kind} ${id}`) && !this.records.known(kind, id),
      )
      if (missing.length === 0) continue
      const { whole, words } = verifySession(path, { anchors: this.anchors(from) })
      if (whole)
        for (const [kind, value] of missing)
          found.set(`${kind} ${value.id}`, { kind, id: value.id, value, from })
      else refused.push(`Nothing was taken from session ${from}, whose record is not whole. ${words}`)
    }
    return { entries: found.values(), refused }
  }

  /** The connection, for the store's own other files. */
  get database(): Db {
    return this.#db
  }

  close(): void {
    this.#db.close()
    this.#hold?.release()
  }

  #whole(entry: LedgerEntry): LedgerEntry {
    return { ...entry, old: this.records.toldBy(entry.old), new: this.records.toldBy(entry.new) }
  }

  #now(): number {
    return this.#clock.now().utcUs
  }

  #anchor(file: SessionFile): void {
    this.#noteAnchor(sessionIdOf(file), file.anchor())
  }

  #noteAnchor(session: string, { batch, head }: { batch: number; head: string }): void {
    const last = this.anchors(session).at(-1)
    if (last && last.batch >= batch) return
    prepared(
      this.#db,
      'INSERT INTO anchor VALUES ((SELECT coalesce(max(n), 0) + 1 FROM anchor), ?, ?, ?, ?)',
    ).run(session, this.#now(), batch, head)
  }
}

/** Settings are read by every window and copied with the data folder. Throws StoreError 'refused'. */
function refuseSecrets(...addresses: (string | null | undefined)[]): void {
  if (addresses.some((address) => address && holdsSecret(address)))
    throw new StoreError('refused', said('address-with-secret', {}))
}

function entriesOfFile(path: string): [Kind, { id: string }][] {
  const file = openSessionFile(path, { mode: 'read' })
  try {
    return entriesOf(file)
  } finally {
    file.close()
  }
}

function entriesOf({ setup }: SessionFile): [Kind, { id: string }][] {
  const of = (kind: Kind, values: readonly { id: string }[]) =>
    values.map((v): [Kind, { id: string }] => [kind, v])
  return [
    ...of('thermometer', setup.register.thermometers),
    ...of('resistor', setup.register.resistors),
    ...of('instrument', setup.register.instruments),
    ...of('fluid', setup.register.fluids),
    ...of('bath', setup.register.baths ?? []),
    ...of('bench', [setup.bench]),
    ...of('plan', setup.plan ? [setup.plan] : []),
  ]
}
