import type { Chain } from '../../../app/live/chain.ts'
import { ChainError } from '../../../app/live/chain-error.ts'
import { celsiusAs, quantityOfUnit, unitOfChannel } from '../../../app/live/channel-unit.ts'
import type { Reading } from '../../../app/records/reading.ts'
import { isDamage } from '../errors.ts'
import { chainsOf } from '../quantity.ts'
import type { SessionFile } from '../session-file.ts'

/** What a reading means, beside what was stored: computed from it with the calibrations that the session began with. */
export interface Shown {
  channelName: string
  thermometer: string
  serial: string
  resistanceOhm: number | null
  voltageMv: number | null
  celsius: number | null
  /** Expanded uncertainty of the measuring chain with k = 2, mK; without scatter, bath and drift. */
  expandedMk: number | null
  /** As the bench shows the channel. */
  shown: number | null
  shownUnit: string
}

const NOTHING: Shown = {
  channelName: '',
  thermometer: '',
  serial: '',
  resistanceOhm: null,
  voltageMv: null,
  celsius: null,
  expandedMk: null,
  shown: null,
  shownUnit: '',
}

/** Digits that a bridge can give, and two more. A double has 15. */
const DIGITS = 12
const TENS = Array.from({ length: 23 }, (_, k) => 10 ** k)
/** How near to a half the part after the last digit may come, so that the error of one product cannot turn it. */
const SURE = 0.499

/**
 * As Number(value.toPrecision(12)), several times as fast. A whole number below 2^53 over a power of ten up to 10^22 is the double
 * nearest to that decimal, since both are exact; where the digit after the last is too near to a half, text decides.
 */
export function known(value: number): number | null {
  if (!Number.isFinite(value)) return null
  const size = Math.abs(value)
  if (size >= 1e-9 && size < 1e11) {
    let places = DIGITS
    for (let ten = 1; ten <= size; ten *= 10) places--
    for (let tenth = 0.1; tenth > size; tenth /= 10) places++
    const scaled = value * TENS[places]!
    const whole = Math.round(scaled)
    // A place too many or too few, where a power of ten itself was reached, is left to the text.
    if (Math.abs(scaled - whole) < SURE && Math.abs(whole) < 1e12 && Math.abs(whole) >= 1e11)
      return whole / TENS[places]!
  }
  return Number(value.toPrecision(DIGITS))
}

/** Works out, reading by reading in their order, what each shows. Ratios to another thermometer follow its last value. */
export class ShownReadings {
  readonly #chains: ReadonlyMap<string, Chain>
  readonly #names: ReadonlyMap<string, Pick<Shown, 'channelName' | 'thermometer' | 'serial'>>
  readonly #units: ReadonlyMap<string, ReturnType<typeof unitOfChannel>>
  readonly #signals = new Map<string, number>()
  readonly #celsius = new Map<string, number>()
  readonly #context = {
    ohmOf: (channel: string) => this.#signals.get(channel) ?? Number.NaN,
    celsiusOf: (channel: string) => this.#celsius.get(channel) ?? Number.NaN,
  }

  constructor(file: SessionFile) {
    this.#chains = chainsIn(file)
    const { bench, register } = file.setup
    this.#units = new Map(bench.channels.map((channel) => [channel.id, unitOfChannel(channel)]))
    this.#names = new Map(
      bench.channels.map(({ id, name, thermometer }) => {
        const entry = register.thermometers.find((one) => one.id === thermometer)
        return [id, { channelName: name, thermometer: entry?.name ?? '', serial: entry?.serial ?? '' }]
      }),
    )
  }

  of({ channel, value, unit, currentMa }: Reading): Shown {
    const names = this.#names.get(channel)
    const chain = this.#chains.get(channel)
    const number = value === null ? Number.NaN : Number(value)
    const shownUnit = this.#units.get(channel) ?? unit
    if (!chain)
      return { ...NOTHING, ...names, ...(shownUnit === unit && { shown: known(number), shownUnit }) }
    const { ratio, signal, celsius } = chain.convert(number, unit, currentMa, this.#context)
    this.#signals.set(channel, signal)
    this.#celsius.set(channel, celsius)
    const asked = this.#units.get(channel)
    const quantity = asked === undefined ? 'raw' : quantityOfUnit(asked)
    const shown =
      quantity === 'temperature'
        ? celsiusAs(celsius, asked!)
        : quantity === 'resistance'
          ? chain.signalUnit === asked
            ? signal
            : Number.NaN
          : asked === 'ratio'
            ? ratio
            : number
    const u = Number.isFinite(celsius) ? chain.uCelsius(celsius) : Number.NaN
    return {
      ...NOTHING,
      ...names,
      resistanceOhm: chain.signalUnit === 'ohm' ? known(signal) : null,
      voltageMv: chain.signalUnit === 'mV' ? known(signal) : null,
      celsius: known(celsius),
      expandedMk: Number.isFinite(u) ? Number((2000 * u).toPrecision(3)) : null,
      shown: known(shown),
      shownUnit,
    }
  }
}

/** A session whose set-up cannot be computed with, or whose events are lost, still gives its readings. */
function chainsIn(file: SessionFile): ReadonlyMap<string, Chain> {
  try {
    return chainsOf(file)
  } catch (fault) {
    if (fault instanceof ChainError || isDamage(fault)) return new Map()
    throw fault
  }
}
