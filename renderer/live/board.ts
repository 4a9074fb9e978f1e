import type { Columns } from '../../app/contract/columns.ts'
import type { ChannelUnit } from '../../app/live/channel-unit.ts'
import { HIDDEN_MARKS, markBits } from '../../app/records/mark.ts'
import { ReadingRing } from './ring.ts'

const HIDDEN = markBits(HIDDEN_MARKS)

interface LiveMeta {
  session: string
  channels: string[]
  last: number
}

/** Where arrivals land: a ring per channel. No part of it is React's; views read it when a frame is painted. */
export class LiveBoard {
  session = ''
  /** Number of the last reading taken in. */
  after = 0
  /** Newest time of any channel, s UTC. */
  newestTime = Number.NaN
  /** Counts how often the rings were emptied, so that a view knows when to begin anew. */
  generation = 0
  readonly rings = new Map<string, ReadingRing>()
  /** Unit in which each channel is shown, as its bench has it. */
  units: ReadonlyMap<string, ChannelUnit> = new Map()
  readonly #watchers = new Set<() => void>()

  ring(channel: string): ReadingRing {
    let found = this.rings.get(channel)
    if (!found) {
      found = new ReadingRing()
      this.rings.set(channel, found)
    }
    return found
  }

  /** Takes one answer of the station in; returns how many readings it brought. */
  take(columns: Columns, meta: unknown): number {
    const { session, channels, last } = meta as LiveMeta
    if (session !== this.session) {
      // Asked for with the old session's number, an answer of the new one has a hole: it is asked for again.
      const asked = this.after
      this.clear(session)
      if (asked > 0) return 0
    }
    const time = columns.utcS as Float64Array
    const channel = columns.channel as Uint8Array | Uint32Array
    const raw = columns.raw as Float64Array
    const resistance = columns.resistance as Float64Array
    const temperature = columns.temperature as Float64Array
    const marks = columns.marks as Uint32Array
    const rings = channels.map((id) => this.ring(id))
    for (let i = 0; i < time.length; i++) {
      // Taken while the input was still settling: in the record, but no part of a picture or a big number.
      if ((marks[i]! & HIDDEN) !== 0) continue
      const t = time[i]!
      rings[channel[i]!]?.push(t, raw[i]!, resistance[i]!, temperature[i]!, marks[i]!)
      if (!(t <= this.newestTime)) this.newestTime = t
    }
    const seq = columns.seq as Uint32Array | undefined
    this.after = time.length > 0 && seq ? seq[seq.length - 1]! : last
    return time.length
  }

  clear(session: string): void {
    this.session = session
    this.after = 0
    this.newestTime = Number.NaN
    this.generation++
    this.rings.clear()
    for (const tell of this.#watchers) tell()
  }

  /** Tells whenever the rings were emptied; returns what ends it. */
  readonly onDidClear = (tell: () => void): (() => void) => {
    this.#watchers.add(tell)
    return () => this.#watchers.delete(tell)
  }
}
