import type pg from 'pg'
import type { Parcel } from './target.ts'

/** Rows of one table as one statement takes them; `$1` is the session. */
export interface Rows {
  readonly table: string
  /** The number within the session: the last part of the key. */
  readonly key: string
  readonly columns: string
  /** The rows as `r`, in the order of the columns. */
  readonly source: string
  /** Whether a stored row, `there`, says the same as `r`. */
  readonly same: string
  readonly values: readonly unknown[]
  readonly count: number
  readonly what: string
}

/** PostgreSQL text cannot hold the zero character; it shows as its picture. */
const text = (value: string) => value.replaceAll('\0', '\u2400')
const json = (value: unknown) => JSON.stringify(value).replaceAll('\\u0000', '\\u2400')
const seconds = (utcUs: number) => utcUs / 1e6
const moment = (utcUs: string) => `timestamptz 'epoch' + ${utcUs} * interval '1 microsecond'`

const equal = (columns: readonly string[]) =>
  `(${columns.map((c) => `there.${c}`).join(', ')}) IS NOT DISTINCT FROM (${columns.map((c) => `r.${c}`).join(', ')})`

export async function insertSession(client: pg.Client, { station, session }: Parcel): Promise<void> {
  await client.query(
    `INSERT INTO stillpoint_session (session, name, operator, kind, started, ended, ending, info, station)
     VALUES ($1, $2, $3, $4, to_timestamp($5), to_timestamp($6), $7, $8, $9)
     ON CONFLICT (station, session) DO UPDATE SET ended = excluded.ended, ending = excluded.ending, info = excluded.info`,
    [
      session.id,
      text(session.name),
      text(session.operator),
      session.kind,
      seconds(session.startedUtcUs),
      session.endedUtcUs === null ? null : seconds(session.endedUtcUs),
      session.ending,
      json(session),
      station,
    ],
  )
}

export function readingRows({ readings }: Parcel): Rows {
  return {
    table: 'stillpoint_reading',
    key: 'seq',
    columns: 'session, seq, utc, session_time_us, channel, raw, value, unit, measuring_current_ma, marks',
    source: `(SELECT $1::text AS session, seq, ${moment('utc_us')} AS utc, mono_us AS session_time_us, channel, raw, value,
        unit, current AS measuring_current_ma, string_to_array(marks, ' ') AS marks
      FROM unnest($2::bigint[], $3::bigint[], $4::bigint[], $5::text[], $6::text[], $7::numeric[], $8::text[],
        $9::double precision[], $10::text[]) AS u (seq, utc_us, mono_us, channel, raw, value, unit, current, marks)) AS r`,
    same: equal(['utc', 'session_time_us', 'channel', 'raw', 'unit', 'measuring_current_ma', 'marks']),
    values: [
      readings.map((r) => r.seq),
      readings.map((r) => r.utcUs),
      readings.map((r) => r.monoUs),
      readings.map((r) => text(r.channel)),
      readings.map((r) => text(r.raw)),
      readings.map((r) => r.value),
      readings.map((r) => r.unit),
      readings.map((r) => r.currentMa),
      readings.map((r) => r.marks.join(' ')),
    ],
    count: readings.length,
    what: 'reading',
  }
}

export function eventRows({ events }: Parcel): Rows[] {
  return events.map((e) => ({
    table: 'stillpoint_event',
    key: 'n',
    columns: 'session, n, utc, kind, who, subject, words, data',
    source: `(SELECT $1::text AS session, $2::bigint AS n, ${moment('$3::bigint')} AS utc, $4::text AS kind, $5::text AS who,
      $6::text AS subject, $7::text AS words, $8::jsonb AS data) AS r`,
    same: equal(['utc', 'kind', 'who', 'subject', 'words', 'data']),
    values: [
      e.n,
      e.utcUs,
      e.kind,
      text(e.who),
      e.subject === null ? null : text(e.subject),
      text(e.words),
      json(e.data),
    ],
    count: 1,
    what: 'event',
  }))
}

export function pointRows({ points }: Parcel): Rows[] {
  return points.map(({ n, point }) => ({
    table: 'stillpoint_point',
    key: 'n',
    columns: 'session, n, point',
    source: '(SELECT $1::text AS session, $2::bigint AS n, $3::jsonb AS point) AS r',
    same: equal(['point']),
    values: [n, json(point)],
    count: 1,
    what: 'point',
  }))
}
