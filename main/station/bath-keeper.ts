import type { Clock } from '../../app/base/clock.ts'
import { duration } from '../../app/base/times.ts'
import { type Bath, InstrumentError, type Measured } from '../../app/instruments/faces.ts'
import { celsiusWords, figure } from '../../app/live/words.ts'
import { type Said, said } from '../../app/messages/said.ts'
import type { BathSpec } from '../../app/records/bench.ts'
import { type BathLimits, refusal } from './bath-limits.ts'
import type { Recorder } from './recorder.ts'
import { StationError } from './station-error.ts'

export type BathTroubleCode = 'over-temperature' | 'runaway' | 'sensor' | 'silent' | 'setpoint-changed'

/** Why a bath must be brought to its safe setpoint. */
export interface BathTrouble {
  readonly code: BathTroubleCode
  readonly said: Said
}

export interface BathKeeperOptions {
  readonly bath: Bath
  readonly spec: BathSpec
  readonly limits: BathLimits
  readonly clock: Clock
  readonly recorder: Recorder
  readonly onTrouble: (trouble: BathTrouble) => void
  readonly onChange: () => void
}

const LOOK_EVERY_MS = 10_000
const SETPOINT_EVERY_LOOKS = 6
/** A bath that has not told its temperature for this long while away from its safe setpoint, s. */
const SILENT_AFTER_S = 300
/** How far above its limit a bath may read before it is over-temperature, K. */
const OVER_K = 2
/** How far outside the way from where it was to where it goes a bath may read before it runs away, K. */
const RUNAWAY_K = 5
/** Looks in a row that must agree before anything is concluded. */
const AGREE = 3
/** Times a setpoint that changed by itself is put back before the plan is stopped. */
const PUT_BACK = 2
const RAMP_STEP_S = 30
/** How far a read-back may differ from what was set, K: the coarsest controller keeps two decimals. */
const READ_BACK_K = 0.011

/**
 * The one hand on the bath's controller. Holds the limits on every path, writes a setpoint down before it is sent,
 * reads it back, looks after the bath's own temperature, and knows the way to the safe setpoint.
 *
 * This is no safety device: an independent cut-out belongs on the bath.
 */
export class BathKeeper {
  readonly limits: BathLimits
  readonly #o: BathKeeperOptions
  readonly #ended = new AbortController()
  #running: Promise<void> | undefined
  #targetC: number | null = null
  #fromC: number | null = null
  #temperatureC: number | null = null
  #lastTold: number
  #looks = 0
  #outside = 0
  #above = 0
  #broken = 0
  #changed = 0
  #putBack = 0
  #moving = false
  #troubled = false

  constructor(options: BathKeeperOptions) {
    this.#o = options
    this.limits = options.limits
    this.#lastTold = options.clock.now().monoUs
    options.bath.limits = { lowC: options.limits.lowC, highC: options.limits.highC }
  }

  /** The bath's own reading, degC; null where it has told none lately. */
  get temperatureC(): number | null {
    return this.#temperatureC
  }

  get targetC(): number | null {
    return this.#targetC
  }

  start(): void {
    this.#running ??= this.#loop()
  }

  async stop(): Promise<void> {
    this.#ended.abort(new Error('the session has ended'))
    await this.#running
  }

  /** Takes over what an earlier life of the station has set, without sending anything. */
  adopt(celsius: number): void {
    this.#targetC = celsius
    this.#fromC = null
  }

  /** A fresh plan step: earlier troubles are history. */
  rearm(): void {
    this.#troubled = false
    this.#putBack = 0
    this.#outside = 0
    this.#above = 0
  }

  /**
   * Brings the setpoint to `celsius`, in one step or along a ramp. Resolves when the controller has read it back.
   * Throws StationError 'limits', or the InstrumentError of the last attempt.
   */
  async set(celsius: number, signal: AbortSignal, why: string | Said, rampKPerMin?: number): Promise<void> {
    const no = refusal(this.limits, celsius)
    if (no) throw new StationError('limits', no, { celsius, ...this.limits })
    this.#fromC = this.#temperatureC ?? this.#targetC
    this.#targetC = celsius
    this.rearm()
    this.#moving = true
    try {
      const now = await this.#readBack(signal)
      if (now === undefined || Math.abs(now - celsius) > READ_BACK_K) {
        this.#o.recorder.commit({
          events: [
            this.#o.recorder.event({
              kind: 'setpoint',
              subject: this.#o.bath.id,
              said: said('bath-to', { celsius: celsiusWords(celsius), why }),
              data: { celsius, fromC: now ?? null, rampKPerMin: rampKPerMin ?? null },
            }),
          ],
        })
        if (rampKPerMin !== undefined && now !== undefined)
          await this.#ramp(now, celsius, rampKPerMin, signal)
        await this.#o.bath.setSetpoint(celsius, signal)
      }
      await this.#o.bath.setOutput?.(true, signal)
    } finally {
      this.#moving = false
    }
  }

  /** The safe setpoint, at once and whatever is written down or not; true when the controller confirmed it. */
  async toSafe(signal?: AbortSignal): Promise<boolean> {
    const { bath, spec } = this.#o
    this.#targetC = spec.safeC
    this.#fromC = this.#temperatureC
    this.#troubled = true
    this.#moving = true
    try {
      await bath.setSetpoint(spec.safeC, signal)
      return true
    } catch (fault) {
      if (!(fault instanceof InstrumentError)) throw fault
      return false
    } finally {
      this.#moving = false
    }
  }

  /** From where the bath is, in steps of half a minute. */
  async #ramp(setpointC: number, toC: number, kPerMin: number, signal: AbortSignal): Promise<void> {
    const { bath, clock } = this.#o
    const { lowC, highC } = this.limits
    const fromC = Math.min(highC, Math.max(lowC, this.#temperatureC ?? setpointC))
    const stepK = (kPerMin * RAMP_STEP_S) / 60
    const steps = Math.ceil(Math.abs(toC - fromC) / stepK)
    for (let i = 0; i < steps; i++) {
      const at = fromC + Math.sign(toC - fromC) * i * stepK
      await bath.setSetpoint(Number(at.toFixed(2)), signal)
      if (i === 0) await bath.setOutput?.(true, signal)
      await clock.sleep(RAMP_STEP_S * 1000, signal)
    }
  }

  async #readBack(signal: AbortSignal): Promise<number | undefined> {
    const measured = await this.#o.bath.readSetpoint(signal)
    return measured.value === undefined ? undefined : Number(measured.value)
  }

  async #loop(): Promise<void> {
    const { clock } = this.#o
    const { signal } = this.#ended
    while (!signal.aborted) {
      try {
        await this.#look()
      } catch (fault) {
        if (signal.aborted) break
        if (!(fault instanceof InstrumentError)) throw fault
        this.#temperatureC = null
      }
      if (signal.aborted) break
      this.#judgeSilence()
      await clock.sleep(LOOK_EVERY_MS, signal).catch(() => undefined)
    }
  }

  async #look(): Promise<void> {
    const { bath } = this.#o
    if (bath.status.state !== 'ready') {
      this.#temperatureC = null
      return
    }
    const measured = await bath.readTemperature(this.#ended.signal)
    this.#keep(measured)
    const broken = measured.marks.includes('not-a-number') || measured.marks.includes('over-range')
    this.#broken = broken ? this.#broken + 1 : 0
    if (this.#broken >= AGREE && this.#targetC !== null) {
      // It may come back, but a sensor that comes and goes is none to heat by.
      this.#trouble('sensor', said('bath-sensor', {}))
    }
    if (measured.value === undefined) {
      this.#temperatureC = null
    } else {
      this.#temperatureC = Number(measured.value)
      this.#lastTold = measured.at.monoUs
      this.#judgeTemperature(this.#temperatureC)
    }
    this.#looks += 1
    if (this.#looks % SETPOINT_EVERY_LOOKS === 0 && !this.#moving) await this.#checkSetpoint()
    this.#o.onChange()
  }

  /** The bath's own reading is kept like any other, under the controller's name. */
  #keep(measured: Measured): void {
    const { bath, recorder } = this.#o
    const at = recorder.stamp(measured.at)
    recorder.take(
      {
        channel: bath.id,
        utcUs: at.utcUs,
        monoUs: at.monoUs,
        raw: measured.raw,
        value: measured.value ?? null,
        unit: measured.unit,
        marks: [...measured.marks],
        currentMa: null,
      },
      true,
    )
  }

  #judgeTemperature(celsius: number): void {
    const { limits } = this
    this.#above = celsius > limits.highC + OVER_K ? this.#above + 1 : 0
    if (this.#above >= AGREE) {
      this.#trouble(
        'over-temperature',
        said('bath-over', { celsius: celsiusWords(celsius), limit: celsiusWords(limits.highC) }),
      )
    }
    const target = this.#targetC
    if (target === null) return
    const from = this.#fromC ?? celsius
    const low = Math.min(from, target) - RUNAWAY_K
    const high = Math.max(from, target) + RUNAWAY_K
    this.#outside = celsius < low || celsius > high ? this.#outside + 1 : 0
    if (this.#outside >= AGREE) {
      const off = figure(Math.abs(celsius - target))
      this.#trouble('runaway', said('bath-runaway', { celsius: celsiusWords(celsius), off }))
    }
    // Once it has been there, the way back to where it came from is no longer its way.
    if (Math.abs(celsius - target) < 1) this.#fromC = target
  }

  #judgeSilence(): void {
    const { spec, clock } = this.#o
    const silentS = (clock.now().monoUs - this.#lastTold) / 1e6
    if (silentS <= SILENT_AFTER_S || this.#targetC === null || this.#targetC === spec.safeC) return
    this.#trouble('silent', said('bath-silent', { time: duration(silentS) }))
  }

  /** A controller that was switched off and on, or set by hand, no longer holds what the plan wants. */
  async #checkSetpoint(): Promise<void> {
    const { bath, recorder } = this.#o
    const target = this.#targetC
    if (target === null || this.#troubled) return
    const now = await this.#readBack(this.#ended.signal)
    if (
      now === undefined ||
      Math.abs(now - target) <= READ_BACK_K ||
      this.#moving ||
      this.#targetC !== target
    ) {
      this.#changed = 0
      return
    }
    this.#changed += 1
    if (this.#changed < 2) return
    this.#changed = 0
    this.#putBack += 1
    if (this.#putBack > PUT_BACK) {
      this.#trouble('setpoint-changed', said('bath-setpoint-changes', { celsius: celsiusWords(now) }))
      return
    }
    recorder.tell({
      kind: 'setpoint',
      subject: bath.id,
      said: said('bath-put-back', { found: celsiusWords(now), celsius: celsiusWords(target) }),
      data: { celsius: target, fromC: now },
    })
    await bath.setSetpoint(target, this.#ended.signal)
    await bath.setOutput?.(true, this.#ended.signal)
  }

  #trouble(code: BathTroubleCode, why: Said): void {
    if (this.#troubled) return
    this.#troubled = true
    this.#o.onTrouble({ code, said: why })
  }
}
