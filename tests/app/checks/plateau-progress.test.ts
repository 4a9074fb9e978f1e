import { describe, expect, it } from 'vitest'
import { findPlateau } from '../../../app/checks/fixed-point-plateau.ts'
import { plateauProgress } from '../../../app/checks/plateau-progress.ts'

/** A freeze of 40 minutes from the tenth minute on, then the furnace's own cooling; a reading every ten seconds. */
const record = (minutes: number) =>
  Array.from({ length: minutes * 6 }, (_, i) => {
    const min = i / 6
    const mk = min < 10 ? (10 - min) * 40 : min < 50 ? -0.005 * (min - 10) : -(min - 50) * 60
    return { timeS: i * 10, ohm: 48 + 0.0946 * mk * 1e-3 }
  })
const at = (minutes: number) => {
  const readings = record(minutes)
  return plateauProgress(findPlateau(readings, { ohmPerKelvin: 0.0946 }), readings.at(-1)!.timeS)
}

describe('plateauProgress', () => {
  it('says for how long a plateau is on and how it slopes, while it happens', () => {
    expect(at(35).phase).toBe('on')
    expect(at(35).words).toMatch(/^On the plateau for 25 min, slope -0\.30 mK\/h/)
  })

  it('says when it has run off', () => {
    expect(at(60).phase).toBe('over')
    expect(at(60).words).toMatch(/lasted 40 min, .* has run off since 10 min/)
  })
})
