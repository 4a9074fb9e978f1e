import type { Clock } from '../../app/base/clock.ts'
import { buildPoint, type PointHead } from '../../app/live/point.ts'
import type { Watch } from '../../app/live/watch.ts'
import { orderInWords, readingOrder, SELF_HEATING_FACTORS } from '../../app/plan/orders.ts'
import type { Bench } from '../../app/records/bench.ts'
import type { Plan } from '../../app/records/plan.ts'
import type { Point, PointReadings } from '../../app/records/point.ts'
import type { Reading } from '../../app/records/reading.ts'
import type { Lane, LaneStop } from './lane.ts'
import type { Recorder } from './recorder.ts'

export interface PointTakerParts {
  readonly bench: Bench
  readonly lanes: readonly Lane[]
  readonly watch: Watch
  readonly recorder: Recorder
  readonly clock: Clock
}

/** Wait after a change of current, s: several time constants of a thermometer's own warming. */
const CURRENT_SETTLE_S = 120
/** Readings at each current of a self-heating pair. */
const PAIR_READINGS = 6
const STORE_LOOK_MS = 5_000

export interface OrderWanted {
  readonly order: Plan['order']
  readonly cycles: number
  readonly selfHeating: boolean
  /** Channels to measure; every one that is no monitor unless told. */
  readonly channels?: readonly string[]
}

interface Run {
  readonly lane: Lane
  readonly stops: readonly LaneStop[]
  /** References on this lane, to be read on while others are still at it. */
  readonly reference: readonly string[]
}

/** Reads the channels in their order, on all bridges at once, and makes a point of what came. */
export class PointTaker {
  readonly #parts: PointTakerParts

  constructor(parts: PointTakerParts) {
    this.#parts = parts
  }

  /** A point, or undefined where not one reading counts. Rejects with the signal's reason when aborted. */
  async take(
    wanted: OrderWanted,
    head: Omit<PointHead, 'order' | 'cycles'>,
    signal: AbortSignal,
  ): Promise<Point | undefined> {
    const { bench, watch } = this.#parts
    const orders = this.#orders(wanted)
    const readings = await this.#collect(
      orders.map(({ lane, stops, reference }) => ({
        lane,
        reference,
        stops: Array.from({ length: wanted.cycles }, () => stops.map((channel) => ({ channel }))).flat(),
      })),
      signal,
    )
    const pairs = wanted.selfHeating
      ? (await Promise.all(orders.map((order) => this.#collectPairs(order, signal)))).flat()
      : []
    if (readings.length === 0) return undefined
    return buildPoint(
      { bench, chains: watch.chains, readings, ...(pairs.length > 0 && { pairs }) },
      {
        ...head,
        order: orders.map((o) => o.words).join('; '),
        cycles: wanted.cycles,
        readings: [...this.#madeOf('order', readings), ...this.#madeOf('pair', pairs)],
      },
    )
  }

  /** What was collected, by channel: of each, everything between its first and its last reading was. */
  #madeOf(part: PointReadings['part'], readings: readonly Reading[]): PointReadings[] {
    return this.#parts.lanes.flatMap((lane) =>
      lane.channels.flatMap(({ id: channel }) => {
        const seqs = readings.flatMap((r) => (r.channel === channel ? [r.seq] : []))
        if (seqs.length === 0) return []
        const [fromSeq, toSeq] = [Math.min(...seqs), Math.max(...seqs)]
        return [{ channel, lane: lane.meter.id, part, fromSeq, toSeq }]
      }),
    )
  }

  #orders({ order, channels }: OrderWanted) {
    return this.#parts.lanes.flatMap((lane) => {
      const own = lane.channels.filter((c) => (channels ? channels.includes(c.id) : c.role !== 'monitor'))
      if (own.length === 0) return []
      const reference = own.filter((c) => c.role === 'reference').map((c) => c.id)
      const others = own.filter((c) => c.role !== 'reference').map((c) => c.id)
      const stops = readingOrder(order, reference, others)
      return [
        {
          lane,
          stops,
          reference,
          channels: own.map((c) => c.id),
          words: orderInWords(stops, reference, others),
        },
      ]
    })
  }

  /**
   * Pairs of one lane, a channel at a time. Between them the reference is read, so that it is never out of sight for
   * longer than one pair takes.
   */
  async #collectPairs(
    { lane, channels, reference }: Pick<Run, 'lane' | 'reference'> & { readonly channels: readonly string[] },
    signal: AbortSignal,
  ): Promise<Reading[]> {
    const readings: Reading[] = []
    for (const channel of channels) {
      const pair = await this.#collect([{ lane, stops: pairStops(channel), reference: [] }], signal)
      readings.push(...pair.filter((reading) => reading.channel === channel))
      const look = reference.map((id) => ({ channel: id }))
      if (channel !== channels.at(-1)) await lane.run(look, signal)
    }
    return readings
  }

  /** Readings that count towards the point are those that were stored while its order ran. */
  async #collect(runs: readonly Run[], signal: AbortSignal): Promise<Reading[]> {
    const { recorder, clock } = this.#parts
    /** Session's own time from which a channel's readings belong to the order, by channel. */
    const from = new Map<string, number>()
    const readings: Reading[] = []
    const subscription = recorder.onDidStore.on((stored) => {
      for (const reading of stored) {
        if (reading.monoUs >= (from.get(reading.channel) ?? Number.POSITIVE_INFINITY)) readings.push(reading)
      }
    })
    try {
      const started = (stops: readonly LaneStop[]) => () => {
        for (const { channel } of stops) {
          if (!from.has(channel)) from.set(channel, recorder.now().monoUs)
        }
      }
      let running = runs.length
      await Promise.all(
        runs.map(async ({ lane, stops, reference }) => {
          await lane.run(stops, signal, started(stops))
          running -= 1
          // Slower bridges still read: the reference is followed to their end, so that it can be interpolated there.
          while (running > 0 && reference.length > 0) {
            await lane.run(
              reference.map((channel) => ({ channel })),
              signal,
            )
          }
        }),
      )
      recorder.attempt({})
      // A point is made of stored readings: on a full disk it waits for room.
      while (recorder.failing) await clock.sleep(STORE_LOOK_MS, signal)
    } finally {
      subscription.dispose()
    }
    return inOrderOfTime(readings)
  }
}

/** By the session's own count; what came at the same moment stands as it was stored. */
function inOrderOfTime(readings: readonly Reading[]): Reading[] {
  return readings.toSorted((a, b) => a.monoUs - b.monoUs || a.seq - b.seq)
}

function pairStops(channel: string): LaneStop[] {
  return SELF_HEATING_FACTORS.map((currentFactor) => ({
    channel,
    currentFactor,
    settleS: CURRENT_SETTLE_S,
    readings: PAIR_READINGS,
  }))
}
