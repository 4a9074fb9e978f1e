import { BenchState } from '../../../app/records/bench-state.ts'
import type { Connection } from './connection.ts'
import type { LocalCopy } from './local-copy.ts'
import { CHANNEL } from './tables.ts'

/** What PostgreSQL carries in one notification, bytes, with room for the rest of it. */
const NOTICE_BYTES = 7_500
/** A bench that was not heard of for this long is silent, s. */
const SILENT_S = 90

/** Another bench of the laboratory, as it was last heard of. */
export interface OtherBench {
  readonly station: string
  readonly name: string
  /** undefined: it has not told yet, or in a form that this program does not know. */
  readonly state: BenchState | undefined
  readonly silent: boolean
}

interface Heard {
  name: string
  text: string | null
  /** Moment of this station's monotonic clock at which it was heard, s. */
  atS: number
}

/** The state of every bench, told to all as it changes. */
export class BenchBoard {
  readonly #local: LocalCopy
  readonly #monoS: () => number
  readonly #heard = new Map<string, Heard>()
  #told: string | undefined

  constructor(local: LocalCopy, monoS: () => number) {
    this.#local = local
    this.#monoS = monoS
  }

  get others(): OtherBench[] {
    const now = this.#monoS()
    return [...this.#heard]
      .filter(([station]) => station !== this.#local.station)
      .map(([station, { name, text, atS }]) => ({
        ...{ station, name },
        state: stateIn(text),
        silent: now - atS > SILENT_S,
      }))
      .toSorted((a, b) => a.name.localeCompare(b.name))
  }

  /** Reads how all of them stand, and says that this one is there. */
  async look({ client }: Connection): Promise<void> {
    await client.query('UPDATE bench SET seen = clock_timestamp() WHERE station = $1', [this.#local.station])
    const { rows } = await client.query<{ station: string; name: string; state: string | null; age: number }>(
      'SELECT station, name, state, extract(epoch FROM clock_timestamp() - seen)::float8 AS age FROM bench',
    )
    for (const { station, name, state, age } of rows)
      this.#keep(station, { name, text: state, atS: this.#monoS() - age })
  }

  /** Tells the others where something changed. */
  async tell({ client }: Connection, name: string, state: BenchState): Promise<void> {
    const text = JSON.stringify(state)
    if (this.#told === `${name} ${text}`) return
    const { station } = this.#local
    const notice = JSON.stringify({ station, name, text })
    const short = Buffer.byteLength(notice) > NOTICE_BYTES ? JSON.stringify({ station }) : notice
    await client.query(
      `WITH told AS (UPDATE bench SET name = $2, state = $3, seen = clock_timestamp() WHERE station = $1)
       SELECT pg_notify('${CHANNEL}', 'bench ' || $4)`,
      [station, name, text, short],
    )
    this.#told = `${name} ${text}`
  }

  /** Takes what another told; false where it has to be looked up. */
  hear(notice: string): boolean {
    const { station, name, text } = JSON.parse(notice) as { station: string; name?: string; text?: string }
    if (name === undefined || text === undefined) return false
    this.#keep(station, { name, text, atS: this.#monoS() })
    return true
  }

  /** What was told to a connection that is gone is told to the next one again. */
  forget(): void {
    this.#told = undefined
  }

  #keep(station: string, heard: Heard): void {
    this.#heard.set(station, heard)
    this.#local.setName(station, heard.name)
  }
}

function stateIn(text: string | null): BenchState | undefined {
  if (text === null) return undefined
  const parsed = BenchState.safeParse(JSON.parse(text))
  return parsed.success ? parsed.data : undefined
}
