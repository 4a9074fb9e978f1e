import { at } from '../base/lists.ts'
import type { Channel } from '../records/bench.ts'
import type { Plan } from '../records/plan.ts'

/**
 * The order of reading of one cycle.
 *
 * `sequence`: S X1..Xn. `symmetric`: S X1..Xn Xn..X1 S: every channel's mean time is the middle of the cycle, so a
 * steady drift of the bath is the same for all of them and cancels. `interleaved`: S X1 S X2 S .. Xn S.
 * Without a reference on this meter the X's stand alone.
 */
export function readingOrder(
  order: Plan['order'],
  reference: readonly string[],
  underTest: readonly string[],
): readonly string[] {
  switch (order) {
    case 'sequence':
      return [...reference, ...underTest]
    case 'symmetric':
      return [...reference, ...underTest, ...underTest.toReversed(), ...reference.toReversed()]
    case 'interleaved':
      if (underTest.length === 0) return [...reference]
      return [...underTest.flatMap((channel) => [...reference, channel]), ...reference]
  }
}

/** Runs of X's from this length on are written with two dots. */
const LONG_RUN = 6

/** The order as it is written on a report: 'S X1 X2 X2 X1 S', and 'S X1..X50 X50..X1 S' where it is long. */
export function orderInWords(
  stops: readonly string[],
  reference: readonly string[],
  underTest: readonly string[],
): string {
  const numbers = stops.map((channel) => underTest.indexOf(channel) + 1)
  const words: string[] = []
  for (let i = 0; i < stops.length; ) {
    if (numbers[i] === 0) {
      const r = reference.indexOf(at(stops, i))
      words.push(reference.length > 1 ? `S${r + 1}` : 'S')
      i += 1
      continue
    }
    const step = (numbers[i + 1] ?? 0) - at(numbers, i)
    let end = i
    if (Math.abs(step) === 1) {
      while (numbers[end + 1] !== 0 && numbers[end + 1] === at(numbers, end) + step) end += 1
    }
    if (end - i + 1 >= LONG_RUN) words.push(`X${numbers[i]}..X${numbers[end]}`)
    else for (let k = i; k <= end; k++) words.push(`X${numbers[k]}`)
    i = end + 1
  }
  return words.join(' ')
}

/**
 * The order of reading of a whole point: its cycles one after another. A plain sequence ends with the reference once more, so
 * that no thermometer is read without the reference before and after it.
 */
export function pointOrder(
  order: Plan['order'],
  cycles: number,
  reference: readonly string[],
  underTest: readonly string[],
): readonly string[] {
  const once = readingOrder(order, reference, underTest)
  const all = Array.from({ length: cycles }, () => once).flat()
  return order === 'sequence' && underTest.length > 0 ? [...all, ...reference] : all
}

/** The higher current of a self-heating pair over the channel's own: it doubles the power. */
export const PAIR_FACTOR = Math.SQRT2
/** Wait after a change of current, s: several time constants of a thermometer's own warming; common practice, no source. */
export const CURRENT_SETTLE_S = 60
/** Readings at each current of a pair. */
export const PAIR_READINGS = 6

export interface PairStop {
  readonly channel: string
  /** 1 or `PAIR_FACTOR`; absent: a companion, at its own current and pace. */
  readonly currentFactor?: number
}

/**
 * Self-heating pairs of one thermometer, four of them, each I and sqrt(2) I in alternating order, with a companion (the
 * reference, or for the reference another thermometer) read before, between and after: C I H C H I C I H C H I C.
 */
export function pairOrder(channel: string, companion: string | undefined): readonly PairStop[] {
  const between: readonly PairStop[] = companion === undefined ? [] : [{ channel: companion }]
  const low: PairStop = { channel, currentFactor: 1 }
  const high: PairStop = { channel, currentFactor: PAIR_FACTOR }
  const pairs = [low, high, high, low, low, high, high, low]
  return pairs.flatMap((stop, i) => (i % 2 === 0 ? [...between, stop] : [stop])).concat(between)
}

/** Who is read between the pairs of a channel: a reference on the same bridge, for a reference another thermometer there. */
export function companionOf(
  channel: string,
  onBridge: readonly Pick<Channel, 'id' | 'role' | 'reference'>[],
): string | undefined {
  const others = onBridge.filter(
    (c) => c.id !== channel && c.role !== 'monitor' && c.reference?.kind !== 'channel',
  )
  return (others.find((c) => c.role === 'reference') ?? others[0])?.id
}
