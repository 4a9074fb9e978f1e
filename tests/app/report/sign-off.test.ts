import { describe, expect, it } from 'vitest'
import { signOffHolds } from '../../../app/report/sign-off.ts'
import { analyse } from '../../../app/results/analysis.ts'
import { simulate } from '../../report/fixture.ts'

const { input } = simulate({ seed: 2 })
const holdsOf = (points = input.points) =>
  signOffHolds(analyse({ ...input, points, options: { monteCarloTrials: 0 } }))

describe('signOffHolds', () => {
  it('refuses a report without a result', () => {
    expect(holdsOf([]).refusal?.words).toMatch(/^There is no result to sign/)
    expect(holdsOf().refusal).toBeNull()
  })

  it('names each link of the chain that the register leaves open', () => {
    const { gaps } = holdsOf()
    expect(gaps).toContainEqual(
      'Reference SPRT Q-25: the register does not state who accredits the laboratory that issued it.',
    )
    expect(gaps).toContainEqual(
      'Ratio bridge RB-8: the register does not state who issued the certificate, who accredits the laboratory that issued it.',
    )
    expect(gaps).toHaveLength(4)
  })
})
