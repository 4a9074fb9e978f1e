import { entryOf } from '../base/lists.ts'
import type { ChannelView, SettlingView } from '../contract/views.ts'
import type { Bench, Channel } from '../records/bench.ts'
import { isExcluded, type Mark } from '../records/mark.ts'
import type { SettlingRule } from '../records/plan.ts'
import type { NewReading, Reading } from '../records/reading.ts'
import type { Register } from '../records/register.ts'
import { buildChains, type Chain, type ChainContext, type Converted } from './chain.ts'
import { unitOfChannel } from './channel-unit.ts'
import { groupSettling, type Health, pastNeededS, SettlingTracker } from './settling.ts'
import { SpikeWatch, StuckWatch } from './suspicion.ts'
import { Track } from './track.ts'
import { judgeWindow, type WindowJudgement } from './window-judgement.ts'

/** The rule channels are judged by while no plan says otherwise: five minutes, 1 mK/min, 2 mK. */
export const WATCHING_RULE: SettlingRule = {
  windowS: 300,
  driftMkPerMin: 1,
  spreadMk: 2,
  bandK: 1e6,
  holdS: 0,
  confidence: 0.95,
  channels: [],
  adaptive: 1,
}

/** Seconds without a reading that counts after which a channel is silent, unless its own visits are rarer. */
const SILENT_AFTER_S = 60

const FAULT_MARKS: readonly Mark[] = [
  'over-range',
  'under-range',
  'not-a-number',
  'instrument-error',
  'garbled',
]

/** What of a reading is watched: all but its text, which only somebody who looks needs. */
export type WatchedReading = Omit<Reading, 'raw' | 'value'> & { readonly raw?: string }

interface Watched {
  readonly channel: Channel
  readonly chain: Chain
  readonly thermometerKind: string | null
  readonly track: Track
  readonly tracker: SettlingTracker
  readonly spikes: SpikeWatch
  readonly stuck: StuckWatch
  last: WatchedReading | undefined
  lastConverted: Converted | undefined
  /** The last reading that counts. */
  lastGood: WatchedReading | undefined
  lastGoodConverted: Converted | undefined
  /** When it was last read for good, s; usual time between such visits, s. */
  visitedS: number | undefined
  periodS: number
}

export interface WatchOptions {
  readonly bench: Bench
  readonly register: Register
  /** Date whose calibrations are used. */
  readonly date: string
  /** null: no plan, the channels are only watched. */
  readonly rule: SettlingRule | null
}

/** A moment in a session: seconds of its monotonic count. */
export interface WatchInstant {
  readonly monoUs: number
}

/**
 * What a session's readings say now: every channel through its chain, its window, and whether it has settled. Fed
 * with stored readings, live or from a file, in order.
 */
export class Watch {
  readonly chains: ReadonlyMap<string, Chain>
  readonly rule: SettlingRule
  readonly required: readonly string[]
  readonly #watched = new Map<string, Watched>()
  /** What chains that follow another channel need: its latest reading that counts. */
  readonly context: ChainContext
  #targetC: number | null = null

  constructor({ bench, register, date, rule }: WatchOptions) {
    this.rule = rule ?? WATCHING_RULE
    this.chains = buildChains({ bench, register, date })
    const keepS = Math.max(pastNeededS(this.rule), WATCHING_RULE.windowS) + 60
    for (const channel of bench.channels) {
      if (!channel.enabled) continue
      this.#watched.set(channel.id, {
        channel,
        chain: entryOf(this.chains, channel.id),
        thermometerKind: register.thermometers.find((t) => t.id === channel.thermometer)?.kind ?? null,
        track: new Track(keepS),
        tracker: new SettlingTracker(this.rule),
        spikes: new SpikeWatch(),
        stuck: new StuckWatch(),
        last: undefined,
        lastConverted: undefined,
        lastGood: undefined,
        lastGoodConverted: undefined,
        visitedS: undefined,
        periodS: 0,
      })
    }
    this.required =
      this.rule.channels.length > 0
        ? this.rule.channels.filter((id) => this.#watched.has(id))
        : [...this.#watched.values()].filter((w) => w.channel.role !== 'monitor').map((w) => w.channel.id)
    this.context = {
      ohmOf: (id) => this.#watched.get(id)?.lastGoodConverted?.signal ?? Number.NaN,
      celsiusOf: (id) => this.#watched.get(id)?.lastGoodConverted?.celsius ?? Number.NaN,
    }
  }

  get targetC(): number | null {
    return this.#targetC
  }

  /** From now on channels are judged against this temperature (null: against none), by readings after `at`. */
  aim(targetC: number | null, at: WatchInstant): void {
    this.#targetC = targetC
    for (const { tracker, chain } of this.#watched.values()) {
      // A nominal conversion may be kelvins off: such a channel must stand still, not stand at the setpoint.
      tracker.aim(chain.nominal ? null : targetC, at.monoUs / 1e6)
    }
  }

  /** Marks that a reading earns from its company: to be asked once for each reading before it is stored. */
  suspicions(reading: NewReading): Mark[] {
    const watched = this.#watched.get(reading.channel)
    if (!watched || reading.value === null || isExcluded(reading.marks)) return []
    const marks: Mark[] = [...watched.chain.marks]
    if (!watched.chain.belongs(reading.unit)) return [...marks, 'wrong-unit']
    const converted = watched.chain.convert(numberIn(reading), reading.unit, reading.currentMa, this.context)
    const sameCurrent = reading.currentMa === null || reading.currentMa === watched.channel.currentMa
    if (sameCurrent && watched.spikes.suspects(watched.track, reading.monoUs / 1e6, converted.celsius)) {
      marks.push('spike-suspected')
    }
    if (watched.stuck.isStuck(reading.value)) marks.push('stuck')
    if (converted.outside) marks.push('outside-range')
    return marks
  }

  /** Takes a stored reading in. Returns it converted; undefined for a channel that is not on this bench. */
  take(reading: Reading): Converted | undefined {
    return this.takeNumber(reading, numberIn(reading))
  }

  /** The same for a reading whose number is known (NaN: it has none) and whose text nobody asks for yet. */
  takeNumber(reading: WatchedReading, number: number): Converted | undefined {
    const watched = this.#watched.get(reading.channel)
    if (!watched) return undefined
    const timeS = reading.monoUs / 1e6
    const converted = watched.chain.convert(number, reading.unit, reading.currentMa, this.context)
    const counts = !Number.isNaN(number) && !isExcluded(reading.marks)
    const sameCurrent = reading.currentMa === null || reading.currentMa === watched.channel.currentMa
    // What is read and discarded just after a switch belongs to the visit that follows: it would make visits look frequent.
    if (!reading.marks.includes('settling-discarded')) {
      // The time that an outage took is no time between visits: silence would be noticed the later for it.
      const apart = reading.marks.includes('gap-before') ? 0 : timeS - (watched.visitedS ?? timeS)
      if (apart > watched.periodS) watched.periodS = apart
      else if (apart > 0) watched.periodS += 0.05 * (apart - watched.periodS)
      watched.visitedS = timeS
    }
    watched.last = reading
    watched.lastConverted = converted
    if (counts) {
      watched.lastGood = reading
      watched.lastGoodConverted = converted
    }
    // Readings at another current belong to a self-heating pair; they would look like a step.
    watched.track.push(timeS, converted.celsius, counts && sameCurrent)
    watched.tracker.look(watched.track, timeS)
    return converted
  }

  /** Seconds since the last reading of a channel that counts; Infinity where there is none. */
  silenceS(channel: string, now: WatchInstant): number {
    const good = this.#watched.get(channel)?.lastGood
    return good ? (now.monoUs - good.monoUs) / 1e6 : Number.POSITIVE_INFINITY
  }

  /** Last temperature of a channel that counts, degC; NaN where there is none. */
  celsius(channel: string): number {
    return this.#watched.get(channel)?.lastGoodConverted?.celsius ?? Number.NaN
  }

  settling(channel: string, now: WatchInstant): SettlingView {
    const watched = entryOf(this.#watched, channel)
    const nowS = now.monoUs / 1e6
    const lastS = watched.lastGood ? watched.lastGood.monoUs / 1e6 : null
    return watched.tracker.view(nowS, this.#health(watched, nowS), lastS)
  }

  /** The state of all required channels together. */
  group(now: WatchInstant): SettlingView {
    return groupSettling(
      this.required.map((id) => ({
        name: entryOf(this.#watched, id).channel.name,
        view: this.settling(id, now),
      })),
    )
  }

  /** Whether the group is flat: the same as its state says, without the words. */
  isSettled(now: WatchInstant): boolean {
    const nowS = now.monoUs / 1e6
    return (
      this.required.length > 0 &&
      this.required.every((id) => {
        const watched = entryOf(this.#watched, id)
        return watched.tracker.isSteady(nowS) && this.#health(watched, nowS) === 'good'
      })
    )
  }

  judgement(channel: string): WindowJudgement | null {
    return this.#watched.get(channel)?.tracker.judgement ?? null
  }

  #health(watched: Watched, nowS: number): Health {
    const { last, lastGood } = watched
    if (last && last !== lastGood && last.marks.some((mark) => FAULT_MARKS.includes(mark))) return 'fault'
    if (lastGood?.marks.includes('stuck')) return 'fault'
    const limit = Math.max(SILENT_AFTER_S, 3 * watched.periodS)
    if (!lastGood || nowS - lastGood.monoUs / 1e6 > limit) return 'silent'
    return 'good'
  }

  channelViews(now: WatchInstant): ChannelView[] {
    return [...this.#watched.values()].map((watched) => this.#view(watched, now))
  }

  #view(watched: Watched, now: WatchInstant): ChannelView {
    const { channel, chain, last } = watched
    const shown = watched.lastGoodConverted
    const celsius = finite(shown?.celsius)
    const u = celsius === null ? null : finite(chain.uCelsius(celsius))
    const slope = celsius === null ? Number.NaN : Math.abs(chain.slopeAt(celsius))
    const uSignal = u === null ? null : finite(u * slope)
    const ohm = chain.resistor?.ohm
    const judged = this.#window(watched, now)
    return {
      id: channel.id,
      name: channel.name,
      role: channel.role,
      thermometer: channel.thermometer ?? null,
      thermometerKind: watched.thermometerKind,
      currentMa: channel.currentMa,
      lastSeq: last?.seq ?? null,
      lastUtcUs: last?.utcUs ?? null,
      raw: last?.raw ?? null,
      rawUnit: last?.unit ?? '',
      unit: unitOfChannel(channel) ?? null,
      ratio: {
        value: finite(shown?.ratio),
        unit: '1',
        u: uSignal === null || ohm === undefined ? null : uSignal / ohm,
      },
      resistance: {
        value: finite(shown?.signal),
        unit: chain.signalUnit === 'none' ? '' : chain.signalUnit,
        u: uSignal,
      },
      temperature: { value: celsius, unit: 'degC', u },
      deviationMk: celsius === null || this.#targetC === null ? null : (celsius - this.#targetC) * 1e3,
      meanC: finite(judged?.meanC),
      sdMk: finite(judged?.sdMk),
      driftMkPerMin: finite(judged?.driftMkPerMin),
      marks: [...(last?.marks ?? [])],
      settling: this.settling(channel.id, now),
    }
  }

  #window(watched: Watched, now: WatchInstant): WindowJudgement | null {
    if (watched.tracker.judgement) return watched.tracker.judgement
    if (watched.track.length === 0) return null
    return judgeWindow(this.rule, watched.track, now.monoUs / 1e6, null)
  }
}

const numberIn = ({ value }: NewReading) => (value === null ? Number.NaN : Number(value))

function finite(value: number | undefined): number | null {
  return value !== undefined && Number.isFinite(value) ? value : null
}
