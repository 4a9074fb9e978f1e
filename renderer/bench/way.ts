import type { Bench, Channel } from '../../app/records/bench.ts'

/** The way from the thermometer to the meter in words: 'CS-16 4 → RB-8 1'. */
export function wayWords(bench: Bench, { instrument, input, route }: Channel): string {
  const nameOf = (id: string) => bench.instruments.find((i) => i.id === id)?.name ?? '–'
  return [
    ...route.toReversed().map((r) => `${nameOf(r.scanner)} input ${r.input}`),
    `${nameOf(instrument)} input ${input}`,
  ].join(' → ')
}
