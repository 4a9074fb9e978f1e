import { createHash } from 'node:crypto'
import { closeSync, mkdirSync, openSync, readSync, rmSync, statSync, writeSync } from 'node:fs'
import { join } from 'node:path'
import { last } from '../../../app/base/lists.ts'
import type { VerifyResult } from '../../../app/contract/studies.ts'
import { said } from '../../../app/messages/said.ts'
import { StoreError } from '../errors.ts'
import { backupSession, type CopyResult } from '../export/copy.ts'
import { renameWhole } from '../rename-whole.ts'
import { openSessionFile } from '../session-file.ts'
import { filedOf, storeAway } from '../session-list.ts'
import { inTransaction, prepared } from '../sqlite.ts'
import { verifySession } from '../verify.ts'
import type { Connection } from './connection.ts'
import type { PaperExchange } from './exchange-papers.ts'
import type { LocalCopy } from './local-copy.ts'
import { ending, ownIdOf } from './session-name.ts'
import { ALONE, CHANNEL } from './tables.ts'

/** A session's file goes through the database in pieces of this size, bytes. */
const PIECE = 1 << 20
/** Rows asked for in one go, and taken over between two turns of the loop that measures. */
const AT_ONCE = 500
const BETWEEN_TURNS = 20

/** How session files are copied, looked through and replaced: in threads where one measures beside. */
export interface SessionHands {
  copy(source: string, into: string): Promise<CopyResult>
  verify(path: string, anchors: readonly { batch: number; head: string }[]): Promise<VerifyResult>
  /** Everything that reads the file of this session lets it go. */
  letGo(session: string): void
}

export const PLAIN_HANDS: SessionHands = {
  copy: (source, into) => backupSession(source, into),
  verify: (path, anchors) => Promise.resolve(verifySession(path, { anchors })),
  letGo: () => undefined,
}

interface Changed {
  id: string
  form: string
  ended: number | null
  sketch: Buffer
  head: string | null
}

const turn = () => new Promise((resolve) => setImmediate(resolve))

/** The list of sessions that all benches have in common, and the files of those that have ended. */
export class SessionExchange {
  readonly #local: LocalCopy
  readonly #hands: SessionHands
  readonly #papers: PaperExchange
  /** Sessions that were added to at two benches at once, in words, by session. */
  readonly #clashes = new Map<string, string>()

  constructor(local: LocalCopy, hands: SessionHands, papers: PaperExchange) {
    this.#local = local
    this.#hands = hands
    this.#papers = papers
  }

  get troubles(): string[] {
    return [...this.#clashes.values()]
  }

  /** Tells of sessions that were begun, ended or added to here, and gives the files of those that have ended. */
  async push(to: Connection): Promise<void> {
    for (const { id, form, ended, sketch, head } of this.#changed()) {
      await turn()
      const file = openSessionFile(this.#local.store.sessionPath(id), { mode: 'read' })
      const { info } = file
      const { row, words } = filedOf(file)
      const newest = this.#local.store.anchors(id).at(-1)?.head ?? ''
      file.close()
      const key = [info.station ?? this.#local.station, info.id] as const
      const { sketch: _, ...rest } = row
      const stored = JSON.stringify({ ...rest, info })
      await to.together(async () => {
        await to.client.query(ALONE)
        await to.client.query(
          `INSERT INTO session (station, session, started_utc_us, row, sketch, words) VALUES ($1, $2, $3, $4, $5, $6)
             ON CONFLICT (station, session)
             DO UPDATE SET seq = nextval('session_seq_seq'), row = $4, sketch = $5, words = $6`,
          [...key, info.startedUtcUs, stored, sketch, words],
        )
        if (ended !== null && newest !== head) await this.#give(to, id, key)
        await to.client.query(`NOTIFY ${CHANNEL}, 'session'`)
      })
      prepared(this.#local.db, 'INSERT OR REPLACE INTO session_told VALUES (?, ?, ?)').run(
        id,
        form,
        ended === null ? '' : newest,
      )
    }
  }

  /** Takes over what other benches have told of theirs. Returns how many rows that were. */
  async pull({ client }: Connection): Promise<number> {
    const { db } = this.#local
    let taken = 0
    for (;;) {
      const { rows } = await client.query<Told>(
        `SELECT s.seq, s.station, s.session, s.row, s.sketch, s.words, f.head FROM session s
           LEFT JOIN file f USING (station, session) WHERE s.seq > $1 ORDER BY s.seq LIMIT $2`,
        [this.#local.state.sessionsPulled, AT_ONCE],
      )
      for (let from = 0; from < rows.length; from += BETWEEN_TURNS) {
        const some = rows.slice(from, from + BETWEEN_TURNS)
        const here = some.filter((told) => this.#isHere(told))
        for (const told of here) {
          await this.#catchUp(client, told)
          await this.#papers.bring(client, this.#idOf(told), [told.station, told.session])
        }
        inTransaction(db, () => {
          for (const told of some)
            if (!here.includes(told)) {
              storeAway(db, this.#idOf(told), told)
              taken += 1
            }
          this.#local.setReach({ sessionsPulled: Number(last(some).seq) })
        })
        await turn()
      }
      if (rows.length < AT_ONCE) return taken
    }
  }

  /** Brings the file of a session of another bench here and verifies it. Throws StoreError 'not-found' or 'damaged'. */
  async fetch({ client }: Connection, id: string): Promise<void> {
    const { db, store } = this.#local
    const station = prepared(db, 'SELECT station FROM session WHERE id = ? AND away = 1').pluck().get(id) as
      | string
      | undefined
    if (station === undefined) return
    const key = [station, ownIdOf(id, station)] as const
    await this.#bring(client, id, key, [])
    await this.#papers.bring(client, id, key)
    store.appendLedger({
      who: 'station',
      what: 'session brought here',
      subject: id,
      old: null,
      new: null,
      why: `from ${this.#local.nameOf(station)}`,
    })
  }

  #changed(): Changed[] {
    return prepared(
      this.#local.db,
      `SELECT s.id, s.form || ' ' || coalesce(s.ended_utc_us, '') AS form, s.ended_utc_us AS ended, s.sketch, t.head
         FROM session s LEFT JOIN session_told t ON t.session = s.id
         WHERE s.away = 0 AND s.damaged IS NULL AND json_extract(s.row, '$.info.kind') <> 'look'
           AND t.form IS NOT s.form || ' ' || coalesce(s.ended_utc_us, '')
         ORDER BY s.started_utc_us DESC LIMIT 50`,
    ).all() as Changed[]
  }

  /** Gives the file, unless what the database has was added to elsewhere: that comes here first. */
  async #give({ client }: Connection, id: string, key: readonly [string, string]): Promise<void> {
    const { store } = this.#local
    const folder = join(store.folder, 'laboratory')
    mkdirSync(folder, { recursive: true, mode: 0o700 })
    const copy = await this.#hands.copy(store.sessionPath(id), folder)
    try {
      const { rows } = await client.query<{ head: string }>(
        'SELECT head FROM file WHERE station = $1 AND session = $2 FOR UPDATE',
        [...key],
      )
      if (rows[0] && !this.#contains(id, rows[0].head)) return
      const batch = store.anchors(id).at(-1)?.batch ?? 0
      await client.query('DELETE FROM file WHERE station = $1 AND session = $2', [...key])
      await client.query('INSERT INTO file VALUES ($1, $2, $3, $4, $5, $6)', [
        ...[...key, copy.head, batch, copy.sha256, copy.bytes],
      ])
      for (const [n, bytes] of piecesOf(copy.path).entries())
        await client.query('INSERT INTO file_piece VALUES ($1, $2, $3, $4)', [...key, n, bytes()])
    } finally {
      rmSync(copy.path, { force: true })
    }
  }

  /** A session that is here was added to elsewhere: the longer one takes the place of ours, or both are told of. */
  async #catchUp(client: Connection['client'], told: Told): Promise<void> {
    const id = this.#idOf(told)
    if (told.head === null || this.#contains(id, told.head)) return
    const anchors = this.#local.store.anchors(id).slice(-1)
    try {
      await this.#bring(client, id, [told.station, told.session], anchors)
      this.#clashes.delete(id)
    } catch (fault) {
      if (!(fault instanceof StoreError) || fault.code !== 'damaged') throw fault
      this.#clashes.set(
        id,
        `Session ${id} was added to here and at another bench at the same time (a note, an amendment, a signature). Both are kept, each where it was made: say in one of them what the other says. ${fault.message}`,
      )
    }
  }

  /** Reads the pieces in one look, holds them to their hash and the chain to its end, and gives the file its name. */
  async #bring(
    client: Connection['client'],
    id: string,
    key: readonly [string, string],
    anchors: readonly { batch: number; head: string }[],
  ): Promise<void> {
    const { store } = this.#local
    const path = store.sessionPath(id)
    const part = `${path}.${process.pid}.part`
    try {
      await client.query('BEGIN ISOLATION LEVEL REPEATABLE READ')
      const { rows } = await client.query<{ head: string; sha256: string; batch: number }>(
        'SELECT head, sha256, batch FROM file WHERE station = $1 AND session = $2',
        [...key],
      )
      const [file] = rows
      if (!file)
        throw new StoreError(
          'not-found',
          said('session-still-elsewhere', { id, key: this.#local.nameOf(key[0]) }),
          { id },
        )
      const hash = createHash('sha256')
      const out = openSync(part, 'w', 0o600)
      try {
        for (let n = 0; ; n++) {
          const piece = await client.query<{ bytes: Buffer }>(
            'SELECT bytes FROM file_piece WHERE station = $1 AND session = $2 AND n = $3',
            [...key, n],
          )
          const bytes = piece.rows[0]?.bytes
          if (!bytes) break
          hash.update(bytes)
          writeSync(out, bytes)
        }
      } finally {
        closeSync(out)
      }
      const { whole, words } = await this.#hands.verify(part, [...anchors, file])
      if (hash.digest('hex') !== file.sha256 || !whole)
        throw new StoreError('damaged', said('session-came-broken', { id, words }), { id })
      // From here to the list in one go: a word that is added to ours in between would be lost, or never told.
      const ours = anchors.length === 0 ? undefined : store.anchors(id).at(-1)
      if (ours && !hasBatch(part, ours.head))
        throw new StoreError('damaged', said('session-changed-while-coming', {}), { id })
      this.#hands.letGo(id)
      for (const suffix of ['-wal', '-shm']) rmSync(path + suffix, { force: true })
      renameWhole(part, path)
      this.#register(id)
    } finally {
      await client.query('COMMIT').catch(() => undefined)
      for (const suffix of ['', '-wal', '-shm', '-journal']) rmSync(part + suffix, { force: true })
    }
  }

  #register(id: string): void {
    const { store, db } = this.#local
    const file = openSessionFile(store.sessionPath(id), { mode: 'read' })
    try {
      store.registerSession(file)
    } finally {
      file.close()
    }
    // The database has it as it is now.
    prepared(
      db,
      `INSERT OR REPLACE INTO session_told SELECT id, form || ' ' || coalesce(ended_utc_us, ''), ? FROM session WHERE id = ?`,
    ).run(store.anchors(id).at(-1)?.head ?? '', id)
  }

  #contains(id: string, head: string): boolean {
    return hasBatch(this.#local.store.sessionPath(id), head)
  }

  /** Whether the file of a session is here. */
  #isHere(told: Told): boolean {
    const id = this.#idOf(told)
    return prepared(this.#local.db, 'SELECT 1 FROM session WHERE id = ? AND away = 0').get(id) !== undefined
  }

  /**
   * What a session of the laboratory is called here. Its own id, which the minute of its beginning makes: where a session of
   * another station has that already, with the station's UUID behind it.
   */
  #idOf({ station, session }: Told): string {
    const own = prepared(this.#local.db, 'SELECT station FROM session WHERE id = ?').pluck().get(session)
    const isOther = own !== undefined && station !== (own === '' ? this.#local.station : own)
    return isOther ? session + ending(station) : session
  }
}

interface Told {
  seq: string
  station: string
  session: string
  row: string
  sketch: Buffer
  words: string
  head: string | null
}

function hasBatch(path: string, head: string): boolean {
  const file = openSessionFile(path, { mode: 'read' })
  try {
    return file.hasBatch(head)
  } finally {
    file.close()
  }
}

/** Pieces of a file, each read when it is asked for. */
function piecesOf(path: string): (() => Buffer)[] {
  const length = statSync(path).size
  return Array.from({ length: Math.ceil(length / PIECE) }, (_, n) => () => {
    const bytes = Buffer.alloc(Math.min(PIECE, length - n * PIECE))
    const file = openSync(path, 'r')
    try {
      readSync(file, bytes, 0, bytes.length, n * PIECE)
    } finally {
      closeSync(file)
    }
    return bytes
  })
}
