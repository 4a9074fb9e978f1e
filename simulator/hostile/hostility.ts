import { type RandomStream, randomStream } from '../physics/randomness.ts'
import type { Troubles } from '../physics/thermometer.ts'
import type { ThermometerDesign } from '../scenarios/scenario.ts'
import type { HostileCase } from './cases.ts'

/** What acts on one thermometer that the station is not told of; its stem at full immersion. */
export interface ThermometerHostility extends Troubles {
  /** Length over which stem conduction falls to 1/e, mm. */
  readonly stemLengthMm: number
}

/** What acts on the laboratory. */
export interface Hostility {
  readonly kind: HostileCase
  readonly bathKPerS: number
  readonly resistorK: number
  /** Of a meter for thermocouples: relative, and V. */
  readonly meterGain: number
  readonly meterOffsetV: number
  readonly junctionC: number
  /** What the higher current of a pair is multiplied by. */
  readonly currentFactor: number
  of(thermometer: string): ThermometerHostility
}

const CALM: ThermometerHostility = {
  placeK: () => 0,
  stemPart: 0,
  stemLengthMm: 15,
  memoryPart: 0,
  leakOhm: Number.POSITIVE_INFINITY,
  resistanceFactor: () => 1,
  heatingFactor: 1,
  readingK: () => 0,
}

/** Relative change of platinum's resistance for one kelvin at the water triple point; ITS-90. */
const PER_K = 3.9886e-3
/** Time within which what happens once a night happens, s. */
const NIGHT_S = 20_000

/** Between two sizes with either sign. */
const signed = (random: RandomStream, least: number, most: number) =>
  (random.uniform() < 0.5 ? -1 : 1) * between(random, least, most)
const between = (random: RandomStream, least: number, most: number) =>
  least + (most - least) * random.uniform()

/** Several slow waves of random phase: 1/f noise over the periods that a night has room for, standard deviation `sd`. */
function flicker(random: RandomStream, sd: number): (seconds: number) => number {
  const waves = Array.from({ length: 12 }, (_, i) => ({
    rate: (2 * Math.PI) / (20 * 2 ** (i * 0.8)),
    phase: 2 * Math.PI * random.uniform(),
  }))
  return (s) => sd * Math.sqrt(2 / 12) * waves.reduce((sum, w) => sum + Math.sin(w.rate * s + w.phase), 0)
}

type Draw = (
  random: RandomStream,
  design: ThermometerDesign,
  uniformityK: number,
) => Partial<ThermometerHostility>

const isUnderTest = ({ role }: ThermometerDesign) => role === 'under-test'

/** What each case does to a thermometer; sizes from the seed. */
const ON_THERMOMETER: Partial<Record<HostileCase, Draw>> = {
  'gradient-larger': (random, _, uniformityK) => {
    const own = uniformityK * between(random, 3, 5) * random.normal()
    return { placeK: () => own }
  },
  'gradient-with-temperature': (random) => {
    const perK = 1.5e-4 * random.normal()
    return { placeK: (bathC) => perK * (bathC - 15) }
  },
  'gradient-turning': (random) => {
    const [size, period, phase] = [0.006 * Math.abs(random.normal()), between(random, 2, 8), random.uniform()]
    return { placeK: (_, s) => size * Math.sin(2 * Math.PI * (s / (3600 * period) + phase)) }
  },
  'stem-conduction': (random, design) =>
    isUnderTest(design)
      ? { stemPart: between(random, 2e-5, 2.5e-4), stemLengthMm: between(random, 8, 40) }
      : {},
  hysteresis: (random, design) => (isUnderTest(design) ? { memoryPart: signed(random, 5e-5, 3e-4) } : {}),
  'leak-item': (random, design) =>
    isUnderTest(design) && design.nominalOhm
      ? { leakOhm: design.nominalOhm / between(random, 1e-5, 2e-4) }
      : {},
  'leak-reference': (random, design) =>
    design.role === 'reference' ? { leakOhm: (design.nominalOhm ?? 25) / between(random, 2e-5, 1e-4) } : {},
  'reference-jump': (random, design) => {
    const [at, by] = [between(random, 0.1, 0.9) * NIGHT_S, signed(random, 0.002, 0.01) * PER_K]
    return design.role === 'reference' ? { resistanceFactor: (s) => (s < at ? 1 : 1 + by) } : {}
  },
  'reference-drifted': (random, design) => {
    const by = signed(random, 0.002, 0.01) * PER_K
    return design.role === 'reference' ? { resistanceFactor: () => 1 + by } : {}
  },
  'self-heating': (random) => ({ heatingFactor: between(random, 3, 6) }),
  flicker: (random, design) => ({ readingK: flicker(random, isUnderTest(design) ? 0.002 : 0.0005) }),
  'mains-pick-up': (random) => {
    const [size, period] = [between(random, 0.001, 0.005), between(random, 7, 60)]
    return { readingK: (s) => size * Math.sin((2 * Math.PI * s) / period) }
  },
  'references-disagree': (random, design) => {
    const by = signed(random, 0.005, 0.04) * PER_K
    return design.role === 'reference' && design.id.endsWith('b') ? { resistanceFactor: () => 1 + by } : {}
  },
}

/** The hostility of a night: which case, how large, by its seed. The stated uniformity is that of the bench, K. */
export function drawHostility(
  kind: HostileCase,
  seed: number,
  thermometers: readonly ThermometerDesign[],
  uniformityK: number,
): Hostility {
  const stream = (what: string) => randomStream(seed, `hostile ${kind} ${what}`)
  const random = stream('laboratory')
  const only = (name: HostileCase, value: () => number, otherwise = 0) =>
    kind === name ? value() : otherwise
  const drawn = new Map(
    thermometers.map((design) => [
      design.id,
      { ...CALM, ...ON_THERMOMETER[kind]?.(stream(design.id), design, uniformityK) },
    ]),
  )
  return {
    kind,
    bathKPerS: only('bath-drift', () => signed(random, 0.3e-3, 2e-3) / 60),
    resistorK: only('resistor-temperature', () => signed(random, 0.5, 2)),
    meterGain: only('meter-error', () => signed(random, 1e-5, 1e-4)),
    meterOffsetV: only('meter-error', () => signed(random, 5e-7, 1e-5)),
    junctionC: only('junction', () => signed(random, 0.1, 1)),
    currentFactor: only('current-ratio', () => 1 + signed(random, 0.01, 0.04), 1),
    of: (thermometer) => drawn.get(thermometer) ?? CALM,
  }
}
