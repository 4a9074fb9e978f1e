import { type BridgeCurve, type BridgeEvidence, bridgeCurve } from '../../app/checks/bridge-curve.ts'
import { allNetworks, networkValue } from '../../app/checks/network.ts'
import { RatioElectronics } from '../../simulator/physics/electronics.ts'
import { randomStream } from '../../simulator/physics/randomness.ts'

/** The lab's own best bridge, and what its readings are averaged over. */
const DESIGN = { noiseV: 12e-9, linearityRatio: 5e-8, resolutionRatio: 1e-9, highestRatio: 4.2 }
const CURRENT_A = 3e-3
const RS_OHM = 100
const READINGS = 16
/** Standard uncertainty of a known ratio, relative: certificates of both resistors. */
const U_KNOWN = 2e-8
/** Resistors are this near to their nominal value. */
const TOLERANCE = 2e-4

export const METHODS = [
  'interchange',
  'combinations',
  'combinations and zero',
  'known ratios',
  'all together',
] as const
export type Method = (typeof METHODS)[number]

/** No value is a multiple of another: with 1, 2 and 4 a wave of half a ratio passes for a constant. */
const BOX = { a: 0.25, b: 0.36, c: 1 } as const
/** Each with its reciprocal, as two resistors give them. */
const PAIRS = [1, 0.8, 0.6, 0.4, 0.25] as const
const KNOWN = [0, 0.1, 0.25, 0.5, 1, 1.5, 2] as const

interface SimulatedBridge {
  readonly evidence: BridgeEvidence
  errorAt(ratio: number): number
}

/** One bridge of the lab with its own error, checked with its own resistors. */
function simulated(seed: number): SimulatedBridge {
  const electronics = new RatioElectronics(DESIGN, randomStream(seed, 'bridge'))
  const draw = randomStream(seed, 'resistors')
  const near = (value: number) => value * (1 + TOLERANCE * draw.normal())
  const single = DESIGN.noiseV / (CURRENT_A * RS_OHM)
  const u = Math.hypot(single / Math.sqrt(READINGS), DESIGN.resolutionRatio / Math.sqrt(12))
  const shown = (ratio: number) => electronics.indicate(ratio, READINGS, CURRENT_A, RS_OHM)
  const box = Object.fromEntries(Object.entries(BOX).map(([name, value]) => [name, near(value)]))
  return {
    errorAt: (ratio) => electronics.nonlinearity(ratio),
    evidence: {
      networks: allNetworks(Object.keys(BOX)).map((network) => ({
        network,
        ratio: shown(networkValue(network, box).value),
        u,
      })),
      interchanges: PAIRS.map((value) => {
        const n = near(value)
        return { name: `${value}`, ratio: shown(n), u, reciprocal: shown(1 / n), uReciprocal: u }
      }),
      known: KNOWN.map((value) => {
        const n = near(value)
        const known = n * (1 + U_KNOWN * draw.normal())
        return { name: `${value}`, ratio: shown(n), u, known, uKnown: U_KNOWN * value }
      }),
    },
  }
}

function only(method: Method, all: BridgeEvidence): BridgeEvidence {
  const none: BridgeEvidence = { networks: [], interchanges: [], known: [] }
  switch (method) {
    case 'interchange':
      return { ...none, interchanges: all.interchanges }
    case 'combinations':
      return { ...none, networks: all.networks }
    case 'combinations and zero':
      return { ...none, networks: all.networks, known: all.known.filter(({ known }) => known === 0) }
    case 'known ratios':
      return { ...none, known: all.known }
    case 'all together':
      return all
  }
}

/** The true error less what the method cannot see, at one ratio. */
function truthOf(method: Method, { errorAt }: SimulatedBridge, { checked }: BridgeCurve) {
  if (method === 'interchange') {
    return (n: number) => (errorAt(n) + n * n * errorAt(1 / n)) / 2
  }
  if (!method.startsWith('combinations')) return errorAt
  const slope =
    checked.reduce((sum, { ratio }) => sum + ratio * errorAt(ratio), 0) /
    checked.reduce((sum, { ratio }) => sum + ratio * ratio, 0)
  return (n: number) => errorAt(n) - slope * n
}

export interface MethodTally {
  /** Truths within U (k = 2), in per cent: at the ratios that were checked, and over the whole curve. */
  readonly checked: number
  readonly curve: number
  /** Root mean square found over true, over the checked ratios: median, and the middle nine tenths. */
  readonly found: readonly [low: number, median: number, high: number]
  /** Median U at the checked ratios, in ratio. */
  readonly expanded: number
}

/** Bridges with known errors, each checked by one method: how often the truth lies within U. */
export function bridgesBy(method: Method, bridges: number, first: number): MethodTally {
  const within = { checked: 0, curve: 0 }
  const tries = { checked: 0, curve: 0 }
  const quotients: number[] = []
  const expanded: number[] = []
  for (let seed = first; seed < first + bridges; seed++) {
    const bridge = simulated(seed)
    const found = bridgeCurve(only(method, bridge.evidence))
    const truth = truthOf(method, bridge, found)
    for (const where of ['checked', 'curve'] as const) {
      for (const { ratio, error, u } of found[where]) {
        tries[where]++
        if (Math.abs(error - truth(ratio)) <= 2 * u) within[where]++
      }
    }
    const mean = found.checked.reduce((s, { ratio }) => s + truth(ratio) ** 2, 0) / found.checked.length
    quotients.push(found.linearityRatio / Math.sqrt(mean))
    expanded.push(...found.checked.map(({ u }) => 2 * u))
  }
  const quantile = (values: readonly number[], p: number) =>
    values.toSorted((a, b) => a - b)[Math.min(values.length - 1, Math.floor(p * values.length))]!
  return {
    checked: (100 * within.checked) / tries.checked,
    curve: (100 * within.curve) / tries.curve,
    found: [quantile(quotients, 0.05), quantile(quotients, 0.5), quantile(quotients, 0.95)],
    expanded: quantile(expanded, 0.5),
  }
}
