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

/** The order as it is written on a report: 'S X1 X2 X2 X1 S'. */
export function orderInWords(
  stops: readonly string[],
  reference: readonly string[],
  underTest: readonly string[],
): string {
  return stops
    .map((channel) => {
      const r = reference.indexOf(channel)
      if (r >= 0) return reference.length > 1 ? `S${r + 1}` : 'S'
      return `X${underTest.indexOf(channel) + 1}`
    })
    .join(' ')
}

/** Currents of a self-heating pair: I, sqrt(2) I, and I again to show whether the bath stood still meanwhile. */
export const SELF_HEATING_FACTORS = [1, Math.SQRT2, 1] as const
