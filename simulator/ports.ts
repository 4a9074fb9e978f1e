import type { InstrumentKind, Scenario } from './scenarios/scenario.ts'

/** The order in which models take ports from the base upward. */
const MODEL_ORDER: readonly InstrumentKind[] = [
  'rb-8',
  'rb-3',
  'cs-16',
  'cs-32',
  'tb-2',
  'tb-1',
  'dm-7',
  'es-1',
]

/** A furnace stands where another scenario has its bath, and answers there; so does what has registers in place of a language. */
const placeOf = (kind: InstrumentKind): InstrumentKind =>
  kind === 'fc-1' || kind === 'tb-2m' ? 'tb-2' : kind === 'es-2' ? 'es-1' : kind

/** The first instrument of each model has its model's port, base to base + 7; further ones follow from base + 8. */
export function portsFrom(base: number, scenario: Scenario): Record<string, number> {
  const ports: Record<string, number> = {}
  const taken = new Set<InstrumentKind>()
  let next = base + MODEL_ORDER.length
  for (const { id, kind: own } of scenario.instruments) {
    const kind = placeOf(own)
    if (taken.has(kind)) ports[id] = next++
    else ports[id] = base + MODEL_ORDER.indexOf(kind)
    taken.add(kind)
  }
  return ports
}
