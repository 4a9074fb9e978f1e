import type { StopSignal } from '../../app/base/clock.ts'
import { InstrumentError, type Scanner } from '../../app/instruments/faces.ts'
import { asTold } from '../../app/messages/said.ts'
import { type InstrumentOptions, ProfileInstrument } from './instrument.ts'
import type { Values } from './template.ts'

/** A channel scanner as its profile describes it. */
export class ProfileScanner extends ProfileInstrument<'scanner'> implements Scanner {
  readonly inputs: number
  readonly keepWarm?: (input: number, currentMa: number) => Promise<void>

  constructor(options: InstrumentOptions) {
    super('scanner', options)
    this.inputs = this.rules.inputs?.count ?? 1
    if (this.rules.capabilities['keep-warm'] !== undefined) {
      this.keepWarm = async (input, currentMa) => {
        this.refuseInput(input)
        this.refuseOutside('keep-warm', 'current', currentMa)
        await this.#order('keep-warm', { input, current: currentMa })
      }
    }
  }

  async select(input: number, signal?: StopSignal): Promise<void> {
    this.refuseInput(input)
    await this.#order('select', { input }, signal)
  }

  async #order(capability: string, values: Values, signal?: StopSignal): Promise<void> {
    try {
      await this.task(signal, async (talk) => {
        let done = await this.capability(talk, capability, values)
        let told = done.ok ? await this.watch(talk, 'set') : undefined
        if (told?.poweredUp === true) {
          await this.line.prepare(talk)
          done = await this.capability(talk, capability, values)
          told = done.ok ? await this.watch(talk, 'set') : undefined
        }
        if (!done.ok) throw this.errorOf(done)
        if (told?.marks.includes('instrument-error') === true)
          throw this.error('instrument-said', asTold(told.words))
      })
    } catch (error) {
      // Callers ask again at once; without a link that would spin.
      if (error instanceof InstrumentError && error.code === 'lost')
        await this.link.pace(this.rules.timing.firstByteMs)
      throw error
    }
  }
}
