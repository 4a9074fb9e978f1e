import { z } from 'zod'

/**
 * Flags on a reading. Nothing is ever deleted: a reading that should not count carries a mark that says why.
 * `excludes` tells whether statistics and points leave a reading with this mark out.
 */
export const MARKS = {
  late: { excludes: true, words: 'answered after its deadline' },
  silent: { excludes: true, words: 'no answer' },
  garbled: { excludes: true, words: 'answer could not be read' },
  'over-range': { excludes: true, words: 'over range' },
  'under-range': { excludes: true, words: 'under range' },
  'not-a-number': { excludes: true, words: 'instrument said not a number' },
  'instrument-error': { excludes: true, words: 'instrument reported an error' },
  'power-cycled': { excludes: false, words: 'instrument was switched off and on' },
  'gap-before': { excludes: false, words: 'gap before this reading' },
  'spike-suspected': { excludes: true, words: 'spike suspected' },
  stuck: { excludes: false, words: 'value has not changed for long' },
  'outside-range': { excludes: false, words: 'outside the range of the conversion' },
  'settling-discarded': { excludes: true, words: 'taken while the input was settling' },
  'calibration-overdue': { excludes: false, words: 'calibration is past its due date' },
  'clock-stepped': { excludes: false, words: "computer's clock was set" },
  'rejected-by-person': { excludes: true, words: 'left out by a person' },
  'two-answers': { excludes: false, words: 'more than one temperature fits the signal' },
  'doubtful-answer': { excludes: true, words: 'may be the answer to an earlier question' },
  imported: { excludes: false, words: 'recorded elsewhere and imported' },
  'wrong-unit': { excludes: true, words: 'a unit that the thermometer cannot have' },
} as const satisfies Record<string, { excludes: boolean; words: string }>

export type Mark = keyof typeof MARKS
export const MARK_NAMES = Object.keys(MARKS) as [Mark, ...Mark[]]
export const MarkSchema = z.enum(MARK_NAMES)

/** Whether a reading with these marks is left out of statistics and points. */
export function isExcluded(marks: readonly Mark[]): boolean {
  return marks.some((mark) => MARKS[mark].excludes)
}

/** Marks of readings that no picture shows, live or past: they are not of the quantity, but of what came before it. */
export const HIDDEN_MARKS: readonly Mark[] = ['settling-discarded']

const BITS = new Map<Mark, number>(MARK_NAMES.map((mark, i) => [mark, i]))

/** Marks as one number: bit i stands for MARK_NAMES[i]. */
export function markBits(marks: readonly Mark[]): number {
  let bits = 0
  for (const mark of marks) bits |= 1 << BITS.get(mark)!
  return bits >>> 0
}

/** Adds marks without repeating one. */
export function withMarks(marks: readonly Mark[], more: readonly Mark[]): Mark[] {
  return [...new Set([...marks, ...more])]
}
