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
      const r = reference.indexOf(stops[i]!)
      words.push(reference.length > 1 ? `S${r + 1}` : 'S')
      i += 1
      continue
    }
    const step = (numbers[i + 1] ?? 0) - numbers[i]!
    let end = i
    if (Math.abs(step) === 1) {
      while (numbers[end + 1] !== 0 && numbers[end + 1] === numbers[end]! + step) end += 1
    }
    if (end - i + 1 >= LONG_RUN) words.push(`X${numbers[i]}..X${numbers[end]}`)
    else for (let k = i; k <= end; k++) words.push(`X${numbers[k]}`)
    i = end + 1
  }
  return words.join(' ')
}

/** Currents of a self-heating pair: I, sqrt(2) I, and I again to show whether the bath stood still meanwhile. */
export const SELF_HEATING_FACTORS = [1, Math.SQRT2, 1] as const
