import { said } from '../messages/said.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'
import { FIXED_POINTS, type FixedPointName } from '../thermometry/fixed-points.ts'

/** A plateau that was taken, as a sequence sees it. */
export interface TakenPlateau {
  readonly fixedPoint: FixedPointName
  readonly utcMs: number
  /** R at zero current, at the point's own temperature, ohm; what is each plateau's own of its uncertainty, mK. */
  readonly ohm: number
  readonly ownUMk: number
}

export interface SequenceStep {
  readonly fixedPoint: FixedPointName
  readonly state: 'taken' | 'next' | 'later'
  /** Index of the plateau that fills it. */
  readonly plateau: number | null
  /** Of a water plateau: how far R(0.01 degC) moved since the water before, mK, with U (k = 2); null for the first and for others. */
  readonly moved: { readonly mk: number; readonly expandedMk: number; readonly agrees: boolean } | null
}

export interface SequenceState {
  readonly steps: readonly SequenceStep[]
  readonly done: boolean
  /** What a person does next, in words. */
  readonly words: string
}

/** (dR/dt)/R of platinum at the water triple point, 1/K; ITS-90 reference function. */
const PER_KELVIN = 3.9885e-3
const nameOf = (text: string) => (text.toUpperCase() === 'WTP' ? 'H2O' : text)
const shown = (name: FixedPointName) => (name === 'H2O' ? 'the water triple point' : `the ${name} cell`)

/**
 * Reads a sequence of cells as it is written on the sheet: "WTP, Zn, WTP, Sn, WTP". Throws ComparisonError 'bad-input' for a
 * name that is no fixed point, and for a sequence that does not begin and end with water: R(0.01 degC) is needed on both sides.
 */
export function readSequence(text: string): FixedPointName[] {
  const names = text
    .split(/[\s,;>]+/)
    .filter((word) => word !== '')
    .map((word) => {
      const point = FIXED_POINTS.find(({ name }) => name.toUpperCase() === nameOf(word).toUpperCase())
      if (point) return point.name
      throw new ComparisonError('bad-input', said('word-is-no-fixed-point', { word }), { word })
    })
  if (names.length < 3 || names[0] !== 'H2O' || names.at(-1) !== 'H2O') {
    throw new ComparisonError('bad-input', said('sequence-without-water', {}), { names })
  }
  return names
}

/**
 * Where a sequence stands after some plateaus: which steps are taken, which is next and what to do for it. A plateau fills the
 * first open step of its cell that is next; one that does not fit the order is left to the set and fills none. A water plateau
 * that lies beyond its uncertainty from the one before asks for the water cell again.
 */
export function sequenceState(
  order: readonly FixedPointName[],
  taken: readonly TakenPlateau[],
): SequenceState {
  const inTime = taken
    .map((plateau, i) => ({ plateau, i }))
    .toSorted((a, b) => a.plateau.utcMs - b.plateau.utcMs)
  const filled: { index: number; plateau: TakenPlateau }[] = []
  for (const { plateau, i } of inTime) {
    const at = filled.length
    if (order[at] === plateau.fixedPoint) filled.push({ index: i, plateau })
    // Taken again: the newer of two in a row counts.
    else if (order[at - 1] === plateau.fixedPoint) filled[at - 1] = { index: i, plateau }
  }
  let water: TakenPlateau | undefined
  const steps = order.map((fixedPoint, at): SequenceStep => {
    const own = filled[at]
    const state = own ? 'taken' : at === filled.length ? 'next' : 'later'
    const before = water
    if (own && fixedPoint === 'H2O') water = own.plateau
    if (!own || fixedPoint !== 'H2O' || !before)
      return { fixedPoint, state, plateau: own?.index ?? null, moved: null }
    const mk = ((own.plateau.ohm / before.ohm - 1) / PER_KELVIN) * 1e3
    const expandedMk = 2 * Math.hypot(own.plateau.ownUMk, before.ownUMk)
    return {
      fixedPoint,
      state,
      plateau: own.index,
      moved: { mk, expandedMk, agrees: Math.abs(mk) <= expandedMk },
    }
  })
  const last = steps.findLast(({ state }) => state === 'taken')
  const next = steps.find(({ state }) => state === 'next')
  const again =
    last?.moved && !last.moved.agrees
      ? `R(0.01 °C) moved by ${last.moved.mk.toFixed(2)} mK, U ${last.moved.expandedMk.toFixed(2)} mK. Take the water triple point again; where it stays, let the thermometer rest or anneal it. `
      : ''
  return {
    steps,
    done: next === undefined,
    words: next
      ? `${again}Next: ${shown(next.fixedPoint)}. Put the thermometer in, record it, and put its plateau into the set.`
      : `${again}The sequence is complete: its coefficients stand below.`,
  }
}
