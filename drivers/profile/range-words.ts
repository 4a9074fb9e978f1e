import type { Range } from './schema.ts'

/** What is stated of a measuring range, for people: its end, its accuracy and the pause after it was set. */
export function rangeWords({ upTo, pauseMs, accuracy }: Range, unit: string): string {
  return [
    upTo === undefined ? 'the instrument chooses' : `up to ${upTo} ${unit}`,
    ...(accuracy === undefined
      ? []
      : [`${accuracy.readingPpm} x 1E-6 of the reading and ${accuracy.rangePpm} x 1E-6 of the range`]),
    ...(pauseMs === 0 ? [] : [`${pauseMs / 1000} s to settle`]),
  ].join(', ')
}
