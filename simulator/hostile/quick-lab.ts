import { entryOf, first } from '../../app/base/lists.ts'
import type { Bench } from '../../app/records/bench.ts'
import type { RawUnit } from '../../app/records/reading.ts'
import type { Register } from '../../app/records/register.ts'
import { templateFor } from '../../app/results/uncertainty-template.ts'
import { buildElectronics } from '../instruments/electronics-known.ts'
import { readyBench } from '../paperwork/bench.ts'
import { drawResistor, JUNCTION_KNOWN_K, paperwork, thermometerEntry } from '../paperwork/register.ts'
import { drawThermometer, type ThermometerTruth } from '../paperwork/truth.ts'
import type { RatioElectronics } from '../physics/electronics.ts'
import { type RandomStream, randomStream } from '../physics/randomness.ts'
import type { ResistorPhysics } from '../physics/resistor.ts'
import { resistanceOf, voltageOf } from '../physics/sensors.ts'
import type { Scenario, ThermometerDesign } from '../scenarios/scenario.ts'
import type { Hostility } from './hostility.ts'

export interface QuickLabOptions {
  readonly scenario: Scenario
  readonly seed: number
  readonly hostility: Hostility
  readonly startUtcUs: number
}

const ROOM_C = 23
const DAY_S = 86_400
const WTP_C = 0.01
/** Standard deviation of what a cell realises, K: as the station takes it of a cell. */
const CELL_K = 0.0001
/** Noise of one measurement of the meter, V. */
const METER_NOISE_V = 6e-8

/** A quantity that wanders, asked for at any later moments. */
class Wandering {
  #value: number
  #at = 0
  readonly #sd: number
  readonly #memoryS: number
  readonly #stream: RandomStream

  constructor(stream: RandomStream, sd: number, memoryS: number) {
    this.#stream = stream
    this.#sd = sd
    this.#memoryS = memoryS
    this.#value = sd * stream.normal()
  }

  at(seconds: number): number {
    const keep = Math.exp(-Math.max(0, seconds - this.#at) / this.#memoryS)
    this.#at = Math.max(this.#at, seconds)
    this.#value = this.#value * keep + this.#sd * Math.sqrt(1 - keep * keep) * this.#stream.normal()
    return this.#value
  }
}

/** Hysteresis that the station is told of a kind: largest part of the span that its budget takes as usual. */
const usualMemory = ({ kind, role }: ThermometerDesign): number =>
  role === 'under-test'
    ? (templateFor(kind).components.find((c) => c.origin === 'hysteresis')?.figure ?? 0)
    : 0

interface Hung {
  readonly design: ThermometerDesign
  readonly truth: ThermometerTruth
}

/**
 * The same laboratory without wires, controllers and waits: the bath stands where it is set, every reading is worked out from
 * the same truth, certificates and electronics, and from what a hostile case does to them. A night takes milliseconds.
 */
export class QuickLab {
  readonly bench: Bench
  readonly paperwork: Register
  readonly hostility: Hostility
  /** Seconds since the lab started; only ever goes on. */
  seconds = 0
  /** How far thermometers are pulled out of the fluid, mm. */
  liftMm = 0
  /** Thermometers in the water triple point cell. */
  readonly inCell = new Set<string>()
  /** Which thermometer's first place each one stands in now. */
  readonly placeOf = new Map<string, string>()
  readonly #scenario: Scenario
  readonly #hung = new Map<string, Hung>()
  readonly #resistors = new Map<string, ResistorPhysics>()
  readonly #resistorWander = new Map<string, Wandering>()
  readonly #bridges = new Map<string, RatioElectronics>()
  readonly #meter: { gain: number; offsetV: number; junctionC: number }
  readonly #noise: RandomStream
  readonly #bathWander: Wandering
  readonly #bathFlutter: Wandering
  readonly #flutter = new Map<string, Wandering>()
  readonly #cellK: number
  readonly #hottest = new Map<string, number>()
  readonly #memory = new Map<string, number>()
  #setpointC = ROOM_C
  #setAtS = 0
  readonly #sensorErrorK: number

  constructor({ scenario, seed, hostility, startUtcUs }: QuickLabOptions) {
    this.#scenario = scenario
    this.hostility = hostility
    const stream = (name: string) => randomStream(seed, `quick ${name}`)
    this.#noise = stream('noise')
    this.#cellK = CELL_K * stream('cell').normal()
    const bath = first(scenario.baths)
    this.#sensorErrorK = bath.sensorErrorK * stream('sensor').normal()
    this.#bathWander = new Wandering(stream('bath'), bath.driftK, bath.driftMemoryS)
    this.#bathFlutter = new Wandering(stream('flutter'), bath.flutterK, bath.flutterMemoryS)
    const resistors = scenario.resistors.map((design) => {
      const { physics, entry } = drawResistor(design, seed, startUtcUs)
      this.#resistors.set(design.id, physics)
      const { wanderK, wanderMemoryS } = physics
      this.#resistorWander.set(design.id, new Wandering(stream(design.id), wanderK, wanderMemoryS))
      return entry
    })
    const entries = scenario.thermometers.map((design) => {
      const truth = drawThermometer(design, scenario.bench.uniformityMk, seed)
      this.#hung.set(design.id, { design, truth })
      this.placeOf.set(design.id, design.id)
      this.#memory.set(design.id, usualMemory(design) * (2 * stream(`memory ${design.id}`).uniform() - 1))
      this.#flutter.set(
        design.id,
        new Wandering(stream(`flutter ${design.id}`), scenario.bench.stabilityMk / 1000, 60),
      )
      return thermometerEntry(design, truth, seed, startUtcUs)
    })
    const { ratio, meter } = buildElectronics(scenario, seed)
    for (const [id, electronics] of ratio) this.#bridges.set(id, electronics)
    this.#meter = {
      gain: meter.gain + hostility.meterGain,
      offsetV: meter.offsetV + hostility.meterOffsetV,
      junctionC: JUNCTION_KNOWN_K * stream('junction').normal() + hostility.junctionC,
    }
    const links = new Map(
      scenario.instruments.map(({ id }) => [id, { kind: 'tcp', host: '127.0.0.1', port: 1 } as const]),
    )
    this.bench = readyBench(scenario, links)
    this.paperwork = paperwork(scenario, entries, resistors, startUtcUs)
  }

  truthOf(thermometer: string): ThermometerTruth {
    return entryOf(this.#hung, thermometer).truth
  }

  /** The next evening: what a thermometer remembers of the night before has gone. */
  nextEvening(): void {
    this.seconds = Math.ceil(this.seconds / DAY_S) * DAY_S
    this.#hottest.clear()
  }

  /** The bath at a temperature, standing still there. */
  set(celsius: number): void {
    this.#setpointC = celsius
    this.#setAtS = this.seconds
    for (const id of this.#hung.keys())
      this.#hottest.set(id, Math.max(this.#hottest.get(id) ?? celsius, celsius))
  }

  #bathC(): number {
    const drift = this.hostility.bathKPerS * (this.seconds - this.#setAtS)
    const wander = this.#bathWander.at(this.seconds) + this.#bathFlutter.at(this.seconds)
    return this.#setpointC + this.#sensorErrorK + drift + wander
  }

  /** Temperature of a thermometer's element without its own warming, degC. */
  #elementC({ design }: Hung): number {
    const own = this.hostility.of(design.id)
    if (this.inCell.has(design.id)) return WTP_C + this.#cellK + own.readingK(this.seconds)
    const place = entryOf(this.placeOf, design.id)
    const bathC = this.#bathC()
    const there = entryOf(this.#hung, place).truth.offsetK + entryOf(this.#flutter, place).at(this.seconds)
    const around = bathC + there + this.hostility.of(place).placeK(this.#setpointC, this.seconds)
    const lag = -this.hostility.bathKPerS * design.lagS
    const stem = own.stemPart * (ROOM_C - around) * Math.exp(this.liftMm / own.stemLengthMm)
    const memory = this.#memoryPart(design.id) * ((this.#hottest.get(design.id) ?? around) - this.#setpointC)
    return around + lag + stem + memory + own.readingK(this.seconds)
  }

  /** By how much a thermometer reads high for each kelvin below the hottest it has been: as its kind does, and by hostility. */
  #memoryPart(thermometer: string): number {
    return entryOf(this.#memory, thermometer) + this.hostility.of(thermometer).memoryPart
  }

  /** One reading of a channel at a multiple of its own current; takes the time it takes before this is asked. */
  measure(channelId: string, currentFactor = 1): { value: string; unit: RawUnit; currentMa: number } {
    const channel = this.bench.channels.find((c) => c.id === channelId)!
    const hung = entryOf(this.#hung, channel.thermometer!)
    const element = this.#elementC(hung)
    const { curve } = hung.truth
    if (hung.design.kind === 'thermocouple') {
      const volt = voltageOf(curve, element, this.#meter.junctionC) / 1000
      const noise = (METER_NOISE_V / Math.sqrt(channel.average)) * this.#noise.normal()
      const shown = volt * (1 + this.#meter.gain) + this.#meter.offsetV + noise
      return { value: shown.toExponential(9), unit: 'V', currentMa: channel.currentMa }
    }
    const asked = channel.currentMa * currentFactor
    const trueMa = currentFactor > 1 ? asked * this.hostility.currentFactor : asked
    const ohm = this.#ohm(hung, element, trueMa)
    const resistor = channel.reference?.kind === 'resistor' ? channel.reference.resistor : ''
    const rs = this.#resistorOhm(resistor)
    const bridge = entryOf(this.#bridges, channel.instrument)
    const ratio = bridge.indicate(ohm / rs, channel.average, trueMa / 1000, rs)
    return { value: ratio.toFixed(9), unit: 'ratio', currentMa: asked }
  }

  #ohm({ design, truth }: Hung, element: number, currentMa: number): number {
    const own = this.hostility.of(design.id)
    const cold = resistanceOf(truth.curve, element)!
    const warmed = truth.selfHeatingKPerW * own.heatingFactor * (currentMa / 1000) ** 2 * cold
    const ohm = resistanceOf(truth.curve, element + warmed)! * own.resistanceFactor(this.seconds)
    return Number.isFinite(own.leakOhm) ? (ohm * own.leakOhm) / (ohm + own.leakOhm) : ohm
  }

  #resistorOhm(id: string): number {
    const { ohm, celsius, alphaPerK, betaPerK2, keptAtC } = entryOf(this.#resistors, id)
    const apart =
      keptAtC + entryOf(this.#resistorWander, id).at(this.seconds) + this.hostility.resistorK - celsius
    return ohm * (1 + alphaPerK * apart + betaPerK2 * apart * apart)
  }

  /** What an insulation tester shows of a thermometer, ohm: it ends at its own range. */
  insulationOhm(thermometer: string): number {
    return Math.min(this.hostility.of(thermometer).leakOhm, INSULATION_END_OHM)
  }

  /**
   * Temperature that a calibration should give for a signal, less the one that gives it truly, is judged against this: the signal
   * at a temperature, zero current, whole insulation, full immersion, half way between up and down.
   */
  trueSignal(thermometer: string, celsius: number): number {
    const { design, truth } = entryOf(this.#hung, thermometer)
    const own = this.hostility.of(thermometer)
    const hottest = this.#hottest.get(thermometer) ?? celsius
    const middle = celsius + (this.#memoryPart(thermometer) * (hottest - celsius)) / 2
    if (design.kind === 'thermocouple') return voltageOf(truth.curve, middle, 0)
    return resistanceOf(truth.curve, middle)! * own.resistanceFactor(this.seconds)
  }

  get scenario(): Scenario {
    return this.#scenario
  }
}

/** Where a tester of insulation ends, ohm. */
const INSULATION_END_OHM = 2e10
