import { last } from '../../../app/base/lists.ts'
import { isKind, type Kind } from '../records/kinds.ts'
import type { Version } from '../records/versions.ts'
import { inTransaction } from '../sqlite.ts'
import type { Connection } from './connection.ts'
import type { LocalCopy } from './local-copy.ts'
import { ALONE, CHANNEL } from './tables.ts'

/** Versions sent, and asked for, in one go. */
const AT_ONCE = 500
/** Versions taken over between two turns of the loop that measures. */
const BETWEEN_TURNS = 25

/** What a station keeps for itself: the rest of its records are the laboratory's. */
const OWN: readonly Kind[] = ['bench', 'plan', 'settings', 'alarm-rules', 'validation']

const turn = () => new Promise((resolve) => setImmediate(resolve))

/** Whether a version is one that the laboratory shares. Who stands for whoever tries the lab in a box is nobody elsewhere. */
function isShared({ kind, id }: Version, { store }: LocalCopy): boolean {
  if (!isKind(kind)) return true
  if (OWN.includes(kind)) return false
  return kind !== 'person' || store.records.one('person', id)?.practice !== true
}

/** Sends what the database does not have. Returns how many versions that were. */
export async function pushVersions(to: Connection, local: LocalCopy): Promise<number> {
  const { client } = to
  let sent = 0
  for (;;) {
    const versions = local.store.records.since(local.state.pushed, AT_ONCE)
    if (versions.length === 0) return sent
    const shared = versions.filter((version) => isShared(version, local))
    const known = await client.query<{ hash: string }>('SELECT hash FROM version WHERE hash = ANY ($1)', [
      shared.map(({ hash }) => hash),
    ])
    const there = new Set(known.rows.map(({ hash }) => hash))
    const fresh = shared.filter(({ hash }) => !there.has(hash))
    if (fresh.length > 0)
      await to.together(async () => {
        await client.query(ALONE)
        await client.query(
          `INSERT INTO version (hash, kind, station, body)
             SELECT * FROM unnest($1::text[], $2::text[], $3::text[], $4::text[]) ON CONFLICT (hash) DO NOTHING`,
          [
            fresh.map(({ hash }) => hash),
            fresh.map(({ kind }) => kind),
            fresh.map(({ station }) => station),
            fresh.map(({ n: _, ...body }) => JSON.stringify(body)),
          ],
        )
        await client.query(`NOTIFY ${CHANNEL}, 'version'`)
      })
    sent += fresh.length
    local.setReach({ pushed: last(versions).n })
  }
}

/** Takes over what others have added. Returns how many versions were new here. */
export async function pullVersions({ client }: Connection, local: LocalCopy): Promise<number> {
  let taken = 0
  for (;;) {
    const { rows } = await client.query<{ seq: string; hash: string; body: string }>(
      'SELECT seq, hash, body FROM version WHERE seq > $1 ORDER BY seq LIMIT $2',
      [local.state.pulled, AT_ONCE],
    )
    for (let from = 0; from < rows.length; from += BETWEEN_TURNS) {
      const some = rows.slice(from, from + BETWEEN_TURNS)
      // With the mark in one transaction: what was cut in the middle comes again, whole.
      inTransaction(local.db, () => {
        for (const { body } of some) {
          const version = JSON.parse(body) as Version
          if (local.store.records.takeOver(version, local.nameOf(version.station))) taken += 1
        }
        const { seq, hash } = last(some)
        local.setReach({ pulled: Number(seq), pulledHash: hash })
      })
      await turn()
    }
    if (rows.length < AT_ONCE) return taken
  }
}

/** Whether the database lacks what it once had: it was taken back from an older copy. */
export async function wasSetBack({ client }: Connection, local: LocalCopy): Promise<boolean> {
  const { pulled, pulledHash } = local.state
  if (pulled === 0) return false
  const { rows } = await client.query<{ hash: string }>('SELECT hash FROM version WHERE seq = $1', [pulled])
  return rows[0]?.hash !== pulledHash
}
