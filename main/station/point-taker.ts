import type { Clock } from '../../app/base/clock.ts'
import { buildPoint, type PointHead } from '../../app/live/point.ts'
import type { Watch } from '../../app/live/watch.ts'
import {
  CURRENT_SETTLE_S,
  companionOf,
  orderInWords,
  PAIR_READINGS,
  pairOrder,
  pointOrder,
} from '../../app/plan/orders.ts'
import type { Bench, Channel } from '../../app/records/bench.ts'
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

type PairRun = Pick<Run, 'lane' | 'reference'> & { readonly own: readonly Channel[] }

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
      [
        orders.map(({ lane, stops, reference }) => ({
          lane,
          reference,
          stops: stops.map((channel) => ({ channel })),
        })),
      ],
      signal,
    )
    const pairs = wanted.selfHeating ? await this.#collectPairs(orders, signal) : []
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

  #orders({ order, cycles, channels }: OrderWanted) {
    return this.#parts.lanes.flatMap((lane) => {
      const own = lane.channels.filter((c) => (channels ? channels.includes(c.id) : c.role !== 'monitor'))
      if (own.length === 0) return []
      const reference = own.filter((c) => c.role === 'reference').map((c) => c.id)
      const others = own.filter((c) => c.role !== 'reference').map((c) => c.id)
      const once = pointOrder(order, 1, reference, others)
      return [
        {
          lane,
          stops: pointOrder(order, cycles, reference, others),
          reference,
          own,
          words: orderInWords(once, reference, others),
        },
      ]
    })
  }

  /**
   * Pairs of all channels. A lane runs those of its channels in one go, each with its companion read between, so that the
   * reference is never out of sight for longer than one change of current takes. A lane without a reference has that of
   * another one followed meanwhile; such lanes take their turn.
   */
  async #collectPairs(orders: readonly PairRun[], signal: AbortSignal): Promise<Reading[]> {
    const run = ({ lane, own }: PairRun): Run => ({
      lane,
      stops: own.flatMap((c) => pairStops(c, own)),
      reference: [],
    })
    const hasReference = ({ reference }: PairRun) => reference.length > 0
    const followed = orders.filter(hasReference)
    const meanwhile = followed.map(({ lane, reference }) => ({ lane, stops: [], reference }))
    const phases = orders.filter((o) => !hasReference(o)).map((order) => [run(order), ...meanwhile])
    return this.#collect([followed.map(run), ...phases], signal)
  }

  /** Runs the stops of several lanes at once. */
  async #runTogether(
    runs: readonly Run[],
    started: (channels: readonly string[]) => () => void,
    signal: AbortSignal,
  ): Promise<void> {
    let running = runs.filter(({ stops }) => stops.length > 0).length
    await Promise.all(
      runs.map(async ({ lane, stops, reference }) => {
        const starting = started([...stops.map(({ channel }) => channel), ...reference])
        if (stops.length > 0) {
          await lane.run(stops, signal, starting)
          running -= 1
        } else starting()
        // Slower bridges still read: the reference is followed to their end, so that it can be interpolated there.
        const again = reference.map((channel) => ({ channel }))
        while (running > 0 && again.length > 0) await lane.run(again, signal)
      }),
    )
  }

  /** Readings that count towards the point are those that were stored while its order ran. */
  async #collect(phases: readonly (readonly Run[])[], signal: AbortSignal): Promise<Reading[]> {
    const { recorder, clock } = this.#parts
    /** Session's own time from which a channel's readings belong to the order, by channel. */
    const from = new Map<string, number>()
    const readings: Reading[] = []
    const subscription = recorder.onDidStore.on((stored) => {
      for (const reading of stored) {
        // What was measured at the very start still belongs to the scan before it.
        if (reading.monoUs > (from.get(reading.channel) ?? Number.POSITIVE_INFINITY)) readings.push(reading)
      }
    })
    try {
      const started = (channels: readonly string[]) => () => {
        for (const channel of channels) {
          if (!from.has(channel)) from.set(channel, recorder.now().monoUs)
        }
      }
      for (const runs of phases) await this.#runTogether(runs, started, signal)
      await Promise.all(phases.flat().map(({ lane }) => lane.emptied()))
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

function pairStops({ id }: Channel, onLane: readonly Channel[]): LaneStop[] {
  return pairOrder(id, companionOf(id, onLane)).map(({ channel, currentFactor }) =>
    currentFactor === undefined
      ? { channel }
      : { channel, currentFactor, settleS: CURRENT_SETTLE_S, readings: PAIR_READINGS },
  )
}
