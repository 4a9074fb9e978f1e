import { first, neighbours, at as placed } from '../base/lists.ts'
import { celsiusWords } from '../live/words.ts'
import type { Plan, Setpoint } from '../records/plan.ts'

/** A plan with one thing done otherwise. */
export interface PlanChange {
  readonly id: 'exchange' | 'lift' | 'pairs' | 'first-again' | 'wtp' | 'cycles' | 'setpoint'
  readonly words: string
  readonly plan: Plan
}

export interface BenchFaces {
  readonly thermometers: number
  readonly hasResistance: boolean
  readonly hasStandardReference: boolean
  /** A night has shown how readings repeat. */
  readonly repeatabilityKnown: boolean
}

const ORDINALS = [
  'first',
  'second',
  'third',
  'fourth',
  'fifth',
  'sixth',
  'seventh',
  'eighth',
  'ninth',
  'tenth',
]

/** Setpoints nearer than this are one temperature, K. */
const APART_K = 5

/** What could be done otherwise in a night to know more: each check that it leaves out, more cycles, one more temperature. */
export function planChanges(plan: Plan, faces: BenchFaces): PlanChange[] {
  const { setpoints } = plan
  const celsius = setpoints.map((s) => s.celsius)
  const hottest = celsius.indexOf(Math.max(...celsius))
  const ends = [...new Set([0, hottest])]
  const at = ends.map((i) => celsiusWords(placed(celsius, i))).join(' and ')
  const withSetpoints = (next: readonly Setpoint[]): Plan => ({ ...plan, setpoints: [...next] })
  const marked = (part: Partial<Setpoint>, where: readonly number[]) =>
    withSetpoints(setpoints.map((s, i) => (where.includes(i) ? { ...s, ...part } : s)))
  const changes: PlanChange[] = []
  const add = (id: PlanChange['id'], words: string, next: Plan) => changes.push({ id, words, plan: next })
  if (faces.thermometers > 1 && !setpoints.some((s) => s.exchange))
    add('exchange', `An exchange of positions at ${at}`, marked({ exchange: true }, ends))
  if (!setpoints.some((s) => s.lift))
    add('lift', `A lift at ${celsiusWords(placed(celsius, hottest))}`, marked({ lift: true }, [hottest]))
  if (faces.hasResistance && !setpoints.some((s) => s.selfHeating))
    add('pairs', `Self-heating pairs at ${at}`, marked({ selfHeating: true }, ends))
  if (hottest > 0 && !celsius.slice(hottest).some((c) => Math.abs(c - first(celsius)) < APART_K))
    add(
      'first-again',
      `${celsiusWords(first(celsius))} once more at the end`,
      withSetpoints([...setpoints, { celsius: first(celsius), selfHeating: false }]),
    )
  if (faces.hasStandardReference && !plan.wtpCheck)
    add('wtp', 'R(0.01 °C) of the reference before and after', { ...plan, wtpCheck: true })
  // More readings lower nothing that is not known.
  if (faces.repeatabilityKnown)
    add('cycles', 'Twice as many times through the order', { ...plan, cycles: plan.cycles * 2 })
  const more = oneMore(celsius)
  if (more) {
    const distinct = new Set(celsius).size
    add(
      'setpoint',
      `A ${ORDINALS[distinct] ?? `${distinct + 1}th`} point at ${celsiusWords(more.celsius)}`,
      withSetpoints(setpoints.toSpliced(more.before, 0, { celsius: more.celsius, selfHeating: false })),
    )
  }
  return changes
}

/** A temperature in the middle of the widest gap, to whole kelvins, and before which setpoint it is taken. */
function oneMore(celsius: readonly number[]): { celsius: number; before: number } | undefined {
  const sorted = [...new Set(celsius)].toSorted((a, b) => a - b)
  const gaps = neighbours(sorted).map(([low, high]) => ({ low, high }))
  const widest = gaps.toSorted((a, b) => b.high - b.low - (a.high - a.low))[0]
  if (!widest || widest.high - widest.low < 2 * APART_K) return undefined
  const middle = Math.round((widest.low + widest.high) / 2)
  const between = neighbours(celsius).findIndex(
    ([a, b]) => Math.min(a, b) <= middle && middle <= Math.max(a, b),
  )
  return between < 0 ? undefined : { celsius: middle, before: between + 1 }
}
