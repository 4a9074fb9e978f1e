import {
  appendFileSync,
  copyFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  utimesSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { gunzipSync } from 'node:zlib'
import Database from 'better-sqlite3'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { backUpAll, copiedUtcUs } from '../../main/store/backup/back-up.ts'
import { readManifest, writeManifest } from '../../main/store/backup/manifest.ts'
import { restoreStation } from '../../main/store/backup/restore.ts'
import { hashOfFile } from '../../main/store/hash-of-file.ts'
import { stationMigrations } from '../../main/store/migrations/station/index.ts'
import { openForWriting } from '../../main/store/open-for-writing.ts'
import { openStationStore, type StationStore } from '../../main/store/station-store.ts'
import { verifySession } from '../../main/store/verify.ts'

/**
 * Data folders that each form of the files has left behind, written by the program as it was then: a register and a
 * recording of three minutes. `make.ts` beside them writes one of today's forms.
 */
const OLD = join(import.meta.dirname, 'old-forms')
const formOf = (name: string) => Number(/^station(\d+)/.exec(name)![1])
const FORMS = readdirSync(OLD)
  .filter((name) => /^station\d+-session\d+$/.test(name))
  .toSorted((a, b) => formOf(a) - formOf(b) || a.localeCompare(b))
const NEWEST = FORMS.at(-1)!
const SESSION = 's-2026-03-01-1800'

let base: string
let clock: VirtualClock
beforeEach(() => {
  base = mkdtempSync(join(tmpdir(), 'stillpoint-backup-é '))
  clock = new VirtualClock({ startUtcUs: Date.UTC(2026, 5, 1) * 1000 })
})
afterEach(() => {
  clock.stop()
  rmSync(base, { recursive: true, force: true })
})

function unpack(form: string, name = 'station'): string {
  const folder = join(base, name)
  mkdirSync(join(folder, 'sessions'), { recursive: true })
  for (const file of readdirSync(join(OLD, form))) {
    const bytes = gunzipSync(readFileSync(join(OLD, form, file)))
    const plain = file.replace(/\.gz$/, '')
    writeFileSync(join(folder, plain.endsWith('.stillpoint') ? 'sessions' : '', plain), bytes)
  }
  return folder
}

async function using<T>(folder: string, act: (store: StationStore) => T | Promise<T>): Promise<T> {
  const store = openStationStore(folder, { clock })
  try {
    return await act(store)
  } finally {
    store.close()
  }
}

/** Certificates as they were signed and as they came in, templates, and whom signatures are trusted of. */
const BESIDE = [
  `certificates/${SESSION}/C-2026-0001.pdf`,
  `certificates/${SESSION}/results.json.p7s`,
  'certificates/in/abc.xml',
  'budgets/ours.json',
  'keys/roots/authority.pem',
]

/** What must be the same wherever the records go. */
const essence = (store: StationStore) => ({
  register: store.register(),
  benches: store.benches(),
  sessions: store.sessions().map(({ info, readings }) => ({ info, readings })),
  heads: store.sessions().map(({ info }) => verifySession(store.sessionPath(info.id))),
})

async function backedUp(form = NEWEST): Promise<{ folder: string; copies: string }> {
  const folder = unpack(form)
  mkdirSync(join(folder, 'profiles'))
  writeFileSync(join(folder, 'profiles/our-meter.json'), '{"own":true}')
  for (const name of [...BESIDE, 'keys/signing.p12']) {
    mkdirSync(dirname(join(folder, name)), { recursive: true })
    writeFileSync(join(folder, name), `what stands in ${name}`)
  }
  const copies = join(base, 'copies')
  mkdirSync(copies)
  await using(folder, (store) => backUpAll({ store, clock, folder: copies }))
  return { folder, copies }
}

describe('the way up from older forms', () => {
  it('has a folder of every form that was ever written', () => {
    // Form 1 was never written by itself: the second step came with it. Today's has its folder when it is left.
    const left = Array.from({ length: stationMigrations.at(-1)!.id - 2 }, (_, i) => i + 2)
    expect(FORMS.map(formOf)).toEqual(expect.arrayContaining(left))
  })

  it.each(FORMS)(
    'opens %s, keeps its ledger and its session whole, and leaves the old file beside',
    async (form) => {
      const folder = unpack(form)
      const before = verifySession(join(folder, 'sessions', `${SESSION}.stillpoint`))
      expect(before.whole, before.words).toBe(true)
      await using(folder, (store) => {
        expect(store.verifyLedger()).toMatchObject({ whole: true, firstBreak: null })
        expect(store.register().thermometers.length).toBeGreaterThan(0)
        expect(store.sessions().map(({ info }) => info.id)).toEqual([SESSION])
        const path = store.sessionPath(SESSION)
        openForWriting(path, clock).close()
        const after = verifySession(path, { anchors: store.anchors(SESSION) })
        expect(after).toMatchObject({ whole: true, readings: before.readings, head: before.head })
      })
      const station = formOf(form)
      if (station < formOf(NEWEST)) expect(existsSync(join(folder, `station.db.form${station}`))).toBe(true)
    },
  )
})

describe('backup and restore', () => {
  it.each(FORMS)('brings a station of %s to another folder with the same heads', async (form) => {
    const { folder, copies } = await backedUp(form)
    const there = join(base, 'moved')
    const { sessions, station } = restoreStation(copies, there, { clock })
    expect({ sessions, station }).toEqual({ sessions: 1, station: true })
    const { ledger, ...before } = await using(folder, (store) => ({
      ...essence(store),
      ledger: store.ledger(),
    }))
    await using(there, (store) => {
      expect(essence(store)).toEqual(before)
      // What was in the ledger is there entry for entry; the restoring is one more.
      expect(store.ledger().slice(1)).toEqual(ledger)
      expect(store.ledger()[0]).toMatchObject({ what: 'restored' })
      expect(store.verifyLedger().whole).toBe(true)
    })
    expect(readFileSync(join(there, 'profiles/our-meter.json'), 'utf8')).toBe('{"own":true}')
    for (const name of BESIDE) expect(readFileSync(join(there, name), 'utf8')).toBe(`what stands in ${name}`)
    if (process.platform !== 'win32') expect(statSync(join(there, 'sessions')).mode & 0o777).toBe(0o700)
  })

  it('copies again what was added to, whatever the clocks say, and nothing else', async () => {
    const { folder, copies } = await backedUp()
    const path = join(copies, `${SESSION}.stillpoint`)
    // A share whose clock is a year behind, and a file that was touched without a change.
    utimesSync(path, new Date(0), new Date(0))
    utimesSync(join(folder, 'sessions', `${SESSION}.stillpoint`), new Date(), new Date())
    await using(folder, async (store) => {
      expect(copiedUtcUs(store, readManifest(copies), SESSION)).toBe(clock.now().utcUs)
      expect(await backUpAll({ store, clock, folder: copies })).toMatchObject({ copied: 0, unchanged: 1 })
      const file = openForWriting(store.sessionPath(SESSION), clock)
      const { utcUs } = clock.now()
      file.commit({
        events: [{ utcUs, monoUs: 0, kind: 'note', who: 'Test', subject: null, words: 'Later.', data: {} }],
      })
      store.registerSession(file)
      file.close()
      expect(copiedUtcUs(store, readManifest(copies), SESSION)).toBeNull()
      expect(await backUpAll({ store, clock, folder: copies })).toMatchObject({ copied: 1, unchanged: 0 })
    })
    expect(verifySession(path).head).toBe(readManifest(copies).sessions[`${SESSION}.stillpoint`]!.head)
  })

  it('holds no key that signs, and says so when it is restored', async () => {
    const { copies } = await backedUp()
    expect(existsSync(join(copies, 'keys/signing.p12'))).toBe(false)
    const there = join(base, 'moved')
    expect(restoreStation(copies, there, { clock }).words.join(' ')).toMatch(/key .* is in no backup/)
    expect(existsSync(join(there, 'keys/signing.p12'))).toBe(false)
  })

  it('copies a certificate again that bears its time stamp now, and keeps one that the station lost', async () => {
    const { folder, copies } = await backedUp()
    const [stamped, lost] = BESIDE as [string, string]
    writeFileSync(join(folder, stamped), 'stamped')
    rmSync(join(folder, lost))
    await using(folder, (store) => backUpAll({ store, clock, folder: copies }))
    expect(readFileSync(join(copies, stamped), 'utf8')).toBe('stamped')
    expect(existsSync(join(copies, lost))).toBe(true)
    restoreStation(copies, join(base, 'moved'), { clock })
    expect(readFileSync(join(base, 'moved', stamped), 'utf8')).toBe('stamped')
  })

  it.each(['certificates/../../out.txt', 'keys/signing.p12', '../profiles/x.json'])(
    'refuses a list that would write to %s',
    async (name) => {
      const { copies } = await backedUp()
      const list = join(copies, 'backup-files.json')
      const said = JSON.parse(readFileSync(list, 'utf8')) as { files: Record<string, unknown> }
      said.files[name] = said.files[BESIDE[0]!]
      writeFileSync(list, JSON.stringify(said))
      expect(() => restoreStation(copies, join(base, 'moved'), { clock })).toThrow(
        /names a file of another folder/,
      )
      const manifest = readManifest(copies)
      manifest.profiles['../../x.json'] = manifest.profiles['our-meter.json']!
      writeFileSync(join(copies, 'backup.json'), JSON.stringify(manifest))
      expect(() => readManifest(copies)).toThrow(/names a file of another folder/)
    },
  )

  it('is never restored over anything', async () => {
    const { folder, copies } = await backedUp()
    expect(() => restoreStation(copies, folder, { clock })).toThrow(/is not empty/)
    expect(() => restoreStation(copies, join(copies, 'in it'), { clock })).toThrow(/in the backup itself/)
    expect(() => restoreStation(join(base, 'nothing'), join(base, 'new'), { clock })).toThrow(/no backup/)
    expect(existsSync(join(base, 'new'))).toBe(false)
  })

  it.each(['station.db', `${SESSION}.stillpoint`, 'profiles/our-meter.json', BESIDE[0]!])(
    'refuses a backup in which %s was changed, and leaves it out when told to',
    async (name) => {
      const { copies } = await backedUp()
      appendFileSync(join(copies, name), 'x')
      const there = join(base, 'moved')
      expect(() => restoreStation(copies, there, { clock })).toThrow(`${name} is not what was copied there`)
      expect(readdirSync(base).sort()).toEqual(['copies', 'station'])
      const { words } = restoreStation(copies, there, { clock, leaveOutDamaged: true })
      expect(words.join(' ')).toMatch(/was left out/)
      await using(there, (store) => {
        // Without station.db the register is that of the session's time.
        if (name === 'station.db') expect(store.register().thermometers.length).toBeGreaterThan(0)
        expect(store.verifyLedger().whole).toBe(true)
      })
    },
  )

  it('refuses a session that was broken before it was copied or is another one, leaves it out when told to, and says why', async () => {
    const { copies } = await backedUp()
    const name = `${SESSION}.stillpoint`
    const path = join(copies, name)
    const manifest = readManifest(copies)
    const kept = manifest.sessions[name]!
    const there = join(base, 'moved')
    const says = (words: RegExp) => {
      expect(() => restoreStation(copies, there, { clock })).toThrow(words)
      expect(existsSync(there)).toBe(false)
      const restored = restoreStation(copies, there, { clock, leaveOutDamaged: true })
      expect(restored.sessions).toBe(0)
      expect(restored.words.at(-1)).toMatch(words)
      expect(restored.words.at(-1)).toMatch(/ It was left out\.$/)
      expect(readdirSync(join(there, 'sessions'))).toEqual([])
      rmSync(there, { recursive: true })
    }
    // Whole in itself, and with the hash that was noted; its chain ends elsewhere than that of the session that was copied.
    const other = '0'.repeat(64)
    writeManifest(copies, { ...manifest, sessions: { [name]: { ...kept, head: other } } })
    says(new RegExp(`^${name}: It is another session .* ends in ${kept.head}, and ${other} was noted`))
    const db = new Database(path)
    const [trigger] = db.prepare(`SELECT sql FROM sqlite_schema WHERE name = 'log_no_update'`).pluck().all()
    db.exec('DROP TRIGGER log_no_update')
    db.exec(`UPDATE log SET raw = '1.5' WHERE seq = 7`)
    db.exec(String(trigger))
    db.close()
    const { sha256, bytes } = hashOfFile(path)
    writeManifest(copies, { ...manifest, sessions: { [name]: { ...kept, sha256, bytes } } })
    says(new RegExp(`^${name}: .*not what was`))
    rmSync(path)
    const { sessions, words } = restoreStation(copies, there, { clock })
    expect(sessions).toBe(0)
    expect(words).toContain(`${name} is named in the backup and is not there.`)
  })

  it('takes a folder of sessions alone, as backups were before they had a list', async () => {
    const folder = unpack(NEWEST)
    const copies = join(base, 'copies')
    mkdirSync(copies)
    copyFileSync(join(folder, 'sessions', `${SESSION}.stillpoint`), join(copies, `${SESSION}.stillpoint`))
    const there = join(base, 'moved')
    expect(restoreStation(copies, there, { clock })).toMatchObject({ sessions: 1, station: false })
    await using(there, (store) => expect(store.register().thermometers.length).toBeGreaterThan(0))
  })

  it("refuses another station's backup folder, one that is away, and one of a newer form", async () => {
    const { copies } = await backedUp()
    const other = unpack(FORMS[0]!, 'other')
    await using(other, async (store) => {
      await expect(backUpAll({ store, clock, folder: copies })).rejects.toThrow(/another station/)
      await expect(backUpAll({ store, clock, folder: join(base, 'away') })).rejects.toThrow(/disk connected/)
      writeManifest(copies, { ...readManifest(copies), form: 2 as never })
      await expect(backUpAll({ store, clock, folder: copies })).rejects.toThrow(/newer Stillpoint/)
    })
  })
})

describe('a station.db that is lost', () => {
  it.each([
    ['is missing', (path: string) => rmSync(path)],
    ['is empty', (path: string) => writeFileSync(path, '')],
    ['is full of something else', (path: string) => writeFileSync(path, 'x'.repeat(8192))],
  ])('is answered with what can be done where it %s', async (_, lose) => {
    const folder = unpack(NEWEST)
    lose(join(folder, 'station.db'))
    expect(() => openStationStore(folder, { clock })).toThrow(
      /stillpoint restore BACKUP --data NEW.*stillpoint sessions --rebuild --data/,
    )
    const store = openStationStore(folder, { clock, makeAnew: true })
    store.rebuild('test')
    expect(store.sessions().map(({ info }) => info.id)).toEqual([SESSION])
    expect(store.register().thermometers.length).toBeGreaterThan(0)
    store.close()
    await using(folder, (again) => expect(again.sessions()).toHaveLength(1))
  })

  it('is made without a word where there is nothing yet', async () => {
    await using(join(base, 'new'), (store) => expect(store.sessions()).toEqual([]))
  })
})

it('calls a session of a newer form newer, and never broken', () => {
  const path = join(unpack(NEWEST), 'sessions', `${SESSION}.stillpoint`)
  const db = new Database(path)
  db.pragma('user_version = 99')
  db.close()
  expect(() => verifySession(path)).toThrow(/written by a newer Stillpoint \(form 99/)
})
