import type { StopSignal } from '../../app/base/clock.ts'
import { type Bath, InstrumentError, type Measured } from '../../app/instruments/faces.ts'
import { asTold, said } from '../../app/messages/said.ts'
import type { Limits } from './guard.ts'
import { type InstrumentOptions, ProfileInstrument } from './instrument.ts'
import { commandsIn } from './schema-steps.ts'

export interface BathLimits {
  readonly lowC: number
  readonly highC: number
}

/** A bath controller as its profile describes it. The limits hold on every path: plan, person, typed line. */
export class ProfileBath extends ProfileInstrument<'bath'> implements Bath {
  readonly setOutput?: (on: boolean, signal?: StopSignal) => Promise<void>
  readonly #widest: BathLimits
  #limits: BathLimits

  constructor(options: InstrumentOptions, limits?: BathLimits) {
    super('bath', options)
    this.#widest = this.#profileLimits()
    this.#limits = this.#widest
    if (limits !== undefined) this.limits = limits
    if (this.rules.capabilities.output !== undefined) {
      this.setOutput = (on, signal) => this.#order('output', { on }, signal)
    }
  }

  get limits(): { lowC: number; highC: number } {
    return { ...this.#limits }
  }

  /** Sets narrower limits. Wider ones than the profile's are cut to it: that only ever refuses more. */
  set limits(wanted: { lowC: number; highC: number }) {
    if (!(wanted.lowC <= wanted.highC)) {
      throw this.error(
        'refused',
        said('limits-leave-no-setpoint', { lowC: wanted.lowC, highC: wanted.highC }),
      )
    }
    this.#limits = {
      lowC: Math.max(wanted.lowC, this.#widest.lowC),
      highC: Math.min(wanted.highC, this.#widest.highC),
    }
  }

  async setSetpoint(celsius: number, signal?: StopSignal): Promise<void> {
    const { lowC, highC } = this.#limits
    if (!(celsius >= lowC && celsius <= highC)) {
      throw this.error('refused', said('setpoint-outside-limits', { celsius, lowC, highC }))
    }
    this.refuseOutside('set-setpoint', 'celsius', celsius)
    await this.#order('set-setpoint', { celsius }, signal)
  }

  readSetpoint(signal?: StopSignal): Promise<Measured> {
    return this.#read('read-setpoint', signal)
  }

  readTemperature(signal?: StopSignal): Promise<Measured> {
    return this.#read('read-temperature', signal)
  }

  override limitsNow(): Limits {
    return { celsius: { low: this.#limits.lowC, high: this.#limits.highC } }
  }

  async #read(capability: string, signal: StopSignal | undefined): Promise<Measured> {
    try {
      return await this.task(signal, async (talk) => {
        const done = await this.capability(talk, capability, {})
        if (!done.ok) return this.measured(done, 'degC', this.takeHistory())
        const told = await this.watch(talk, 'read')
        return this.measured(done, 'degC', [...told.marks, ...this.takeHistory()], told.words)
      })
    } catch (error) {
      if (error instanceof InstrumentError && error.code !== 'refused' && error.code !== 'stopped') {
        return this.missed(error, 'degC')
      }
      throw error
    }
  }

  async #order(
    capability: string,
    values: Record<string, number | boolean>,
    signal?: StopSignal,
  ): Promise<void> {
    await this.task(signal, async (talk) => {
      const done = await this.capability(talk, capability, values)
      if (!done.ok) {
        // The order may have been taken although its answer was not understood: what the instrument says counts.
        const told = done.why === 'not-confirmed' ? await this.watch(talk, 'set') : undefined
        throw told?.words
          ? this.error(done.why, said('two-things-said', { done: done.words, told: told.words }))
          : this.errorOf(done)
      }
      const told = await this.watch(talk, 'set')
      if (told.marks.includes('instrument-error')) throw this.error('instrument-said', asTold(told.words))
      if (told.poweredUp) {
        throw this.error('not-confirmed', said('controller-restarted', {}))
      }
    })
  }

  #profileLimits(): BathLimits {
    let lowC = Number.NEGATIVE_INFINITY
    let highC = Number.POSITIVE_INFINITY
    for (const name of commandsIn(this.rules.capabilities['set-setpoint'])) {
      const rule = this.rules.commands[name]?.parameters.celsius
      lowC = Math.max(lowC, rule?.low ?? lowC)
      highC = Math.min(highC, rule?.high ?? highC)
    }
    return { lowC, highC }
  }
}
