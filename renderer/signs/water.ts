import type { WaterState } from '../../app/contract/views.ts'

/** The word beside the line. */
export const WATER_WORDS: Record<WaterState, string> = {
  choppy: 'moving',
  rippled: 'holding',
  flat: 'settled',
  broken: 'silent',
  crossed: 'fault',
  over: 'done',
}

const CHOP = [0.2, 1, 0.45, 0.8, 0.3, 0.95, 0.6, 0.75]
/** Length of one crest and of one ripple, in the units of the box. */
const CREST = 6
const RIPPLE = 12

/**
 * The drawn surface of a state, as an SVG path in a box of `width` by `height`. `held` (0 ... 1) is the part of the
 * hold time that has run: ripples die down from the left as it grows. The path of 'choppy' is one box longer than
 * shown and repeats after one box, so that it can drift.
 */
export function waterPath(state: WaterState, held: number, width: number, height: number): string {
  const middle = height / 2
  switch (state) {
    case 'flat':
      return `M0 ${middle}H${width}`
    case 'broken':
      return [0, 0.36, 0.72].map((at) => `M${round(at * width)} ${middle}h${round(width * 0.22)}`).join('')
    case 'crossed': {
      const arm = height * 0.38
      const x = width / 2
      return `M0 ${middle}H${width}M${x - arm} ${middle - arm}L${x + arm} ${middle + arm}M${x - arm} ${middle + arm}L${x + arm} ${middle - arm}`
    }
    case 'over':
      return `M${round(width / 3)} ${middle}h${round(width / 3)}`
    case 'rippled':
      return ripples(held, width, height)
    case 'choppy':
      return chop(width, height)
  }
}

function ripples(held: number, width: number, height: number): string {
  const waves = Math.max(4, Math.round(width / RIPPLE))
  const step = width / waves / 2
  let path = `M0 ${height / 2}`
  for (let i = 0; i < waves * 2; i++) {
    const at = (i + 1) / (waves * 2)
    const calm = Math.min(1, Math.max(0, (held * 1.25 - at + 0.25) / 0.25))
    const rise = (i % 2 === 0 ? -1 : 1) * height * 0.3 * (1 - calm)
    path += `q${step / 2} ${round(rise)} ${step} 0`
  }
  return path
}

function chop(width: number, height: number): string {
  const crests = Math.max(CHOP.length, Math.round(width / CREST / 2) * 2)
  const step = width / crests
  let path = `M0 ${height / 2}`
  for (let box = 0; box < 2; box++) {
    for (let i = 0; i < crests; i++) {
      const rise = (i % 2 === 0 ? -1 : 1) * height * 0.46 * CHOP[i % CHOP.length]!
      path += `L${round(box * width + (i + 0.5) * step)} ${round(height / 2 + rise)}`
    }
  }
  return `${path}L${width * 2} ${height / 2}`
}

const round = (n: number) => Math.round(n * 100) / 100
