import { packColumns } from '../../../app/contract/columns.ts'
import type {
  AlarmView,
  ChannelView,
  LinkView,
  StationState,
  WaterState,
} from '../../../app/contract/views.ts'
import type { Bench } from '../../../app/records/bench.ts'
import { linkWords } from '../../../app/records/link-words.ts'
import { type Person, RIGHTS } from '../../../app/records/person.ts'
import type { Plan } from '../../../app/records/plan.ts'
import type { Point } from '../../../app/records/point.ts'
import type { Register } from '../../../app/records/register.ts'
import type { SessionEvent } from '../../../app/records/session.ts'
import { bathC, type NightStep, noise, ohmOf, stepAt, stepsOf, stripOf } from './night.ts'
import { makeBench, makePlan, makeRegister } from './records.ts'

export interface FakeOptions {
  channels: number
  /** Readings a second of each channel. */
  rateHz: number
  /** empty: nothing set up. ready: bench and plan. running: five hours into a night. fault: the same, with trouble. */
  scene: 'empty' | 'ready' | 'running' | 'fault'
  /** Session seconds per second. */
  speed: number
  /** Who is signed in at every window; null: nobody has been entered. */
  person?: string | null
  /** Every window came by the onlookers' address. */
  onlooker?: boolean
}

const HOURS_IN = 2.15

/** A station without instruments: its night is a formula of time, so that any stretch can be asked for. */
export class FakeStation {
  readonly options: FakeOptions
  bench: Bench | null = null
  register: Register
  plans: Plan[] = []
  sessionId: string | null = null
  sessionName = ''
  operator = ''
  ending: StationState['runner']['ending'] = null
  steps: NightStep[] = []
  events: SessionEvent[] = []
  alarms: AlarmView[] = []
  paused = false
  /** How often the bench was connected and read at once. */
  looks = 0
  leftOut = new Set<string>()
  signedOffBy: string | null = null
  /** Records out of use. */
  readonly retired = new Set<string>()
  readonly drafts = new Map<string, { json: string; utcUs: number }>()
  /** Who is signed in at every window, and the password of whoever that is; null: nobody has been entered. */
  person: Person | null
  password: string | null
  versions = { points: 0, register: 0, orders: 0, plans: 0, sessions: 0, bench: 0, settings: 0, benches: 0 }
  #startedWallMs = 0
  #startUtcUs = 0
  #headStartS = 0
  #endedS: number | null = null
  #lastPoints = 0

  constructor(options: FakeOptions) {
    this.options = options
    const known = options.person !== null
    this.person = known ? { id: 'person', name: options.person ?? 'M. Reed', rights: [...RIGHTS] } : null
    this.password = known ? 'the password of tests' : null
    this.register = makeRegister(options.scene === 'empty' ? 0 : options.channels)
    if (options.scene === 'empty') {
      this.register = { thermometers: [], resistors: [], instruments: [], fluids: [] }
      return
    }
    this.startLab()
    if (options.scene !== 'ready') this.begin(this.plans[0]!, 'A. Operator', 'Night run', HOURS_IN * 3600)
    if (options.scene === 'fault') {
      this.alarms = [
        {
          id: 'alarm-1',
          utcUs: this.utcUs() - 240e6,
          severity: 'alarm',
          subject: 'ch-3',
          words: 'Thermometer 02 has been silent for 4 min. Look at its plug and at scanner input 3.',
          count: 3,
          active: true,
          acknowledgedBy: null,
          acknowledgedUtcUs: null,
        },
      ]
    }
  }

  startLab(): void {
    this.register = makeRegister(this.options.channels)
    this.bench = makeBench(this.options.channels)
    this.plans = [makePlan()]
    this.versions.bench++
    this.versions.register++
    this.versions.plans++
  }

  begin(plan: Plan, operator: string, name: string, headStartS = 0): string {
    this.sessionId = `s-${Date.now().toString(36)}`
    this.sessionName = name || plan.name
    this.operator = operator
    this.steps = stepsOf(plan)
    this.#startedWallMs = Date.now()
    this.#headStartS = headStartS
    this.#startUtcUs = Date.now() * 1000 - headStartS * 1e6
    this.#endedS = null
    this.ending = null
    this.signedOffBy = null
    this.versions.sessions++
    this.note('station', 'opened', `Session ${this.sessionName} opened by ${operator}.`)
    return this.sessionId
  }

  stop(ending: StationState['runner']['ending']): void {
    this.#endedS = this.seconds()
    this.ending = ending
    this.versions.sessions++
    this.versions.points++
  }

  note(who: string, kind: SessionEvent['kind'], words: string): void {
    this.events.push({
      n: this.events.length + 1,
      utcUs: this.utcUs(),
      monoUs: Math.round(this.seconds() * 1e6),
      kind,
      who,
      subject: null,
      words,
      data: {},
    })
  }

  get running(): boolean {
    return this.sessionId !== null && this.#endedS === null
  }
  get startUtcUs(): number {
    return this.#startUtcUs
  }

  /** Session seconds. */
  seconds(): number {
    if (this.sessionId === null) return 0
    const end = this.steps.at(-1)?.endS ?? Number.POSITIVE_INFINITY
    const now =
      this.#endedS ?? this.#headStartS + ((Date.now() - this.#startedWallMs) / 1000) * this.options.speed
    if (this.#endedS === null && now >= end) {
      this.#endedS = end
      this.ending = 'complete'
      this.versions.sessions++
      return end
    }
    return now
  }

  utcUs(): number {
    return this.sessionId === null ? Date.now() * 1000 : Math.round(this.#startUtcUs + this.seconds() * 1e6)
  }

  /** True where this channel of the fault scene says nothing. */
  silent(i: number): boolean {
    return this.options.scene === 'fault' && i === 2
  }

  celsius(i: number, s: number): number {
    const offset = i === 0 ? 0 : 0.02 * Math.sin(i * 2.3)
    return bathC(this.steps, s) + offset + 0.0006 * noise(i + 1, Math.floor(s * 10))
  }

  quantity(i: number, s: number, quantity: string): number {
    const celsius = this.celsius(i, s)
    if (quantity === 'temperature') return celsius
    if (quantity === 'deviation') return (celsius - (this.steps[stepAt(this.steps, s)]?.celsius ?? 0)) * 1000
    const ohm = ohmOf(celsius)
    return quantity === 'raw' ? ohm / 100.000127 : ohm
  }

  /** Whether live.next has anything for who knows the readings up to a running number. */
  hasNewer(after: number): boolean {
    const n = this.bench?.channels.length ?? 0
    return Math.floor(this.seconds() * this.options.rateHz) * n !== after
  }

  /** Columns of live.next after a running number. */
  live(after: number, backlogS: number, most: number): Blob {
    const n = this.bench?.channels.length ?? 0
    const { rateHz } = this.options
    const now = this.seconds()
    const last = Math.floor(now * rateHz) * n
    const first = after > 0 && after <= last ? after : Math.max(0, Math.floor((now - backlogS) * rateHz) * n)
    const count = Math.max(0, Math.min(most, last - first))
    const from = after > 0 ? first : last - count
    const seq = new Uint32Array(count)
    const channel = new Uint8Array(count)
    const utcS = new Float64Array(count)
    const monoS = new Float64Array(count)
    const raw = new Float64Array(count)
    const resistance = new Float64Array(count)
    const temperature = new Float64Array(count)
    const marks = new Uint32Array(count)
    for (let k = 0; k < count; k++) {
      const index = from + k
      const i = index % n
      const s = (Math.floor(index / n) + i / n) / rateHz
      seq[k] = index + 1
      channel[k] = i
      monoS[k] = s
      utcS[k] = this.#startUtcUs / 1e6 + s
      const silent = this.silent(i) && s > now - 240
      temperature[k] = silent ? Number.NaN : this.celsius(i, s)
      resistance[k] = silent ? Number.NaN : ohmOf(temperature[k]!)
      raw[k] = silent ? Number.NaN : resistance[k]! / 100.000127
      marks[k] = silent ? 2 : 0
    }
    const meta = {
      session: this.sessionId ?? '',
      channels: this.bench?.channels.map((c) => c.id) ?? [],
      last: from + count,
    }
    return new Blob([packColumns({ seq, channel, utcS, monoS, raw, resistance, temperature, marks }, meta)])
  }

  overview(
    channel: string,
    quantity: string,
    fromUtcUs: number | undefined,
    toUtcUs: number | undefined,
    buckets: number,
  ): Blob {
    const i = Math.max(0, this.bench?.channels.findIndex((c) => c.id === channel) ?? 0)
    const from = Math.max(0, ((fromUtcUs ?? this.#startUtcUs) - this.#startUtcUs) / 1e6)
    const to = Math.min(this.seconds(), ((toUtcUs ?? this.utcUs()) - this.#startUtcUs) / 1e6)
    const width = (to - from) / buckets
    const t = new Float64Array(buckets)
    const min = new Float64Array(buckets)
    const max = new Float64Array(buckets)
    const mean = new Float64Array(buckets)
    const n = new Uint32Array(buckets)
    for (let b = 0; b < buckets; b++) {
      const s = from + (b + 0.5) * width
      const value = this.quantity(i, s, quantity)
      t[b] = this.#startUtcUs / 1e6 + from + b * width
      min[b] = value
      max[b] = this.quantity(i, s + width / 3, quantity)
      if (max[b]! < min[b]!) [min[b], max[b]] = [max[b]!, min[b]!]
      mean[b] = value
      n[b] = Math.max(1, Math.round(width * this.options.rateHz))
    }
    return new Blob([packColumns({ t, min, max, mean, n })])
  }

  /** Single readings of a stretch, as many as there would be. */
  readings(
    channel: string,
    quantity: string,
    fromUtcUs: number | undefined,
    toUtcUs: number | undefined,
    most: number,
  ): Blob {
    const channels = this.bench?.channels ?? []
    const i = Math.max(
      0,
      channels.findIndex((c) => c.id === channel),
    )
    const { rateHz } = this.options
    const from = Math.max(0, ((fromUtcUs ?? this.#startUtcUs) - this.#startUtcUs) / 1e6)
    const to = Math.min(this.seconds(), ((toUtcUs ?? this.utcUs()) - this.#startUtcUs) / 1e6)
    const count = Math.min(most, Math.max(0, Math.floor((to - from) * rateHz)))
    const at = (k: number) => (Math.ceil(from * rateHz) + k + i / channels.length) / rateHz
    const value = Float64Array.from({ length: count }, (_, k) => this.quantity(i, at(k), quantity))
    return new Blob([
      packColumns({
        seq: Uint32Array.from({ length: count }, (_, k) => k + 1),
        utcS: Float64Array.from({ length: count }, (_, k) => this.#startUtcUs / 1e6 + at(k)),
        value,
        marks: new Uint32Array(count),
        raw: Array.from(value, String),
      }),
    ])
  }

  points(): Point[] {
    if (!this.bench || this.sessionId === null) return []
    const now = this.seconds()
    const done = this.steps.flatMap((step, i) => (step.endS <= now ? [{ step, i }] : []))
    if (done.length !== this.#lastPoints) {
      this.#lastPoints = done.length
      this.versions.points++
    }
    return done.map(({ step, i }) => this.#point(step, i))
  }

  #point(step: NightStep, i: number): Point {
    const at = (s: number) => Math.round(this.#startUtcUs + s * 1e6)
    const middle = step.endS - step.measureS / 2
    return {
      id: `p-${i + 1}`,
      step: i,
      setpointC: step.celsius,
      label: i === 4 ? 'down' : 'up',
      kind: 'comparison',
      startUtcUs: at(step.endS - step.measureS),
      endUtcUs: at(step.endS),
      order: 'symmetric',
      cycles: 3,
      settled: true,
      reason: 'The settling rule held for 5 min.',
      marks: this.leftOut.has(`p-${i + 1}`) ? ['rejected-by-person'] : [],
      channels: this.bench!.channels.map((channel, c) => {
        const celsius = this.celsius(c, middle)
        return {
          channel: channel.id,
          firstSeq: i * 1000 + 1,
          lastSeq: i * 1000 + 900,
          n: 60,
          leftOut: 0,
          rawMean: ohmOf(celsius) / 100.000127,
          rawSd: 2.1e-7,
          rawUnit: 'ratio',
          nEffective: 41,
          rawDriftPerS: 1e-11,
          uRawDriftPerS: 2e-11,
          signal: ohmOf(celsius),
          signalZeroCurrent: null,
          selfHeatingMk: null,
          uSelfHeatingMk: null,
          t90C: celsius,
          sdMk: 0.55 + 0.1 * Math.abs(noise(c, i)),
          driftMkPerMin: 0.08 * noise(c + 9, i),
          uTypeAMk: 0.09,
          referenceC: this.celsius(0, middle),
          marks: this.leftOut.has(`p-${i + 1}/${channel.id}`) ? ['rejected-by-person' as const] : [],
        }
      }),
    }
  }

  state(): StationState {
    const now = this.seconds()
    this.points()
    const utcUs = this.utcUs()
    const i = stepAt(this.steps, now)
    const step = this.steps[i]
    const into = step ? now - step.startS : 0
    let water: WaterState = 'choppy'
    let held = 0
    let remainingS: number | null = null
    let words = 'No session is running.'
    if (this.running && step) {
      const settlesAt = step.travelS + step.settleS
      const holdS = 300
      remainingS = Math.max(0, settlesAt - into)
      if (into >= settlesAt) {
        water = 'flat'
        held = 1
        remainingS = 0
        words = `Settled for ${Math.round((into - settlesAt) / 60 + 5)} min.`
      } else if (into >= settlesAt - holdS) {
        water = 'rippled'
        held = 1 - remainingS / holdS
        words = `Within the limits. About ${Math.ceil(remainingS / 60)} min more.`
      } else {
        const drift = Math.max(0.6, 60 * Math.exp(-(into - step.travelS) / 240))
        words = `Drift ${drift.toFixed(1)} mK/min, limit 0.5. About ${Math.ceil(remainingS / 60)} min more.`
      }
    }
    const group = { state: this.running ? water : 'flat', words, remainingS, held } as const
    const channels: ChannelView[] = (this.bench?.channels ?? []).map((channel, c) => {
      const live = this.sessionId !== null
      const celsius = live ? this.celsius(c, now) : null
      const silent = this.silent(c)
      const state: WaterState = !live
        ? 'broken'
        : silent
          ? 'broken'
          : this.options.scene === 'fault' && c === 3
            ? 'crossed'
            : water
      return {
        id: channel.id,
        name: channel.name,
        role: channel.role,
        thermometer: channel.thermometer ?? null,
        thermometerKind: c === 0 ? 'sprt' : 'prt',
        currentMa: channel.currentMa,
        lastSeq: live ? Math.floor(now) : null,
        lastUtcUs: live ? utcUs : null,
        raw: live && !silent ? `+${(ohmOf(celsius!) / 100.000127).toExponential(8)}` : null,
        rawUnit: 'ratio',
        unit: channel.unit ?? 'degC',
        ratio: { value: live && !silent ? ohmOf(celsius!) / 100.000127 : null, unit: 'ratio', u: 4e-8 },
        resistance: { value: live && !silent ? ohmOf(celsius!) : null, unit: 'ohm', u: 4.4e-5 },
        temperature: { value: silent ? null : celsius, unit: 'degC', u: c === 0 ? 0.0021 : 0.0048 },
        deviationMk: live && step && !silent ? (celsius! - step.celsius) * 1000 : null,
        meanC: celsius,
        sdMk: live ? 0.62 : null,
        driftMkPerMin: live ? 0.12 : null,
        marks: silent ? ['silent'] : [],
        settling: {
          state,
          words: silent ? 'Silent for 4 min.' : state === 'crossed' ? 'Over range since 02:14.' : words,
          remainingS,
          held,
        },
      }
    })
    const links: LinkView[] = (this.bench?.instruments ?? []).map((instrument, k) => {
      const lost = this.options.scene === 'fault' && k === 1
      return {
        instrument: instrument.id,
        name: instrument.name,
        role: k === 0 ? 'ratio-bridge' : k === 1 ? 'scanner' : 'bath',
        profile: instrument.profile,
        state: lost ? 'lost' : this.running ? 'ready' : 'closed',
        words: lost
          ? 'No answer for 12 s, trying again in 4 s.'
          : this.running
            ? 'Ready.'
            : 'Not opened yet.',
        address: linkWords(instrument.link),
        identity: this.running ? `QUENNICK,${instrument.profile.slice(4).toUpperCase()},0817,1.3` : null,
        exchanges: Math.floor(now * 3),
        faults: lost ? 3 : 0,
      }
    })
    return {
      utcUs,
      clock: this.options.speed === 1 ? 'real' : 'scaled',
      pace: null,
      program: 'Stillpoint 0.1.0',
      bench: this.bench ? { id: this.bench.id, name: this.bench.name } : null,
      session: this.sessionId
        ? {
            id: this.sessionId,
            name: this.sessionName,
            startedUtcUs: this.#startUtcUs,
            readings: Math.floor(now * channels.length * this.options.rateHz),
            look: false,
          }
        : null,
      runner: {
        phase: !this.sessionId
          ? 'idle'
          : !this.running
            ? 'ended'
            : this.paused
              ? 'paused'
              : water === 'flat'
                ? 'measuring'
                : step && into < step.travelS
                  ? 'setting'
                  : 'waiting',
        words: !this.sessionId
          ? 'No session.'
          : !this.running
            ? 'The session has ended.'
            : `Setpoint ${i + 1} of ${this.steps.length}, ${step?.celsius} °C: ${this.paused ? 'paused' : water === 'flat' ? 'measuring' : 'waiting until settled'}`,
        step: this.sessionId ? i : null,
        steps: this.steps.length,
        setpointC: step?.celsius ?? null,
        bathC: this.sessionId ? bathC(this.steps, now) : null,
        startedUtcUs: this.sessionId ? this.#startUtcUs : null,
        expectedEndUtcUs: this.sessionId
          ? Math.round(this.#startUtcUs + (this.steps.at(-1)?.endS ?? 0) * 1e6)
          : null,
        question: null,
        ending: this.ending,
      },
      group: { ...group },
      channels,
      links,
      strip: this.sessionId
        ? [
            ...stripOf(this.steps, this.#startUtcUs, now),
            ...(this.options.scene === 'fault'
              ? [
                  {
                    kind: 'alarm' as const,
                    fromUtcUs: utcUs - 240e6,
                    toUtcUs: utcUs,
                    words: 'Thermometer 02 silent',
                    celsius: null,
                  },
                  {
                    kind: 'gap' as const,
                    fromUtcUs: this.#startUtcUs + 3_000e6,
                    toUtcUs: this.#startUtcUs + 3_900e6,
                    words: 'Gap of 15 min: the computer was switched off',
                    celsius: null,
                  },
                ]
              : []),
          ]
        : [],
      alarms: this.alarms,
      disk: { freeBytes: 212e9, words: '212 GB free', low: false },
      versions: { ...this.versions },
    }
  }
}
