import { describe, expect, it } from 'vitest'
import { analyse } from '../../../app/results/analysis.ts'
import { templateFor } from '../../../app/results/uncertainty-template.ts'
import { simulate } from '../../report/fixture.ts'

/** The budgets of an industrial thermometer of which one component has a size of its own and so many degrees of freedom. */
function budgetsWith(correlation: 'common' | 'independent', degreesOfFreedom: number | null) {
  const template = structuredClone(templateFor('prt'))
  const components = template.components.map((c) =>
    c.id === 'immersion'
      ? {
          ...c,
          origin: 'fixed' as const,
          distribution: 'normal' as const,
          correlation: { kind: correlation },
          values: [{ celsius: 0, mk: 200 }],
          degreesOfFreedom,
        }
      : c,
  )
  const { input } = simulate({ seed: 3, cell: 'none' })
  const analysis = analyse({
    ...input,
    options: { monteCarloTrials: 0, templates: [{ ...template, components }] },
  })
  const { fit, points } = analysis.thermometers.find((t) => t.record.channel.id === 'x1')!
  const line = (budget: { lines: readonly { component: string; u: number; degreesOfFreedom: number }[] }) =>
    budget.lines.find(({ component }) => component === 'immersion')!
  return {
    point: line(points[2]!.budget),
    curve: line(fit!.atTemperature(60)),
    whole: fit!.atTemperature(60),
  }
}

describe('the degrees of freedom of a line of a budget', () => {
  it.each(['common', 'independent'] as const)(
    'are those of its size where one size holds at all points, %s as the errors drawn from it are',
    (correlation) => {
      const { point, curve } = budgetsWith(correlation, 5)
      expect(point.degreesOfFreedom).toBeCloseTo(5, 9)
      expect(curve.degreesOfFreedom).toBeCloseTo(5, 9)
      expect(point.u).toBeCloseTo(200, 9)
    },
  )

  it('widen U by Student’s t where that line is nearly all of it', () => {
    // JCGM 100:2008, table G.2: t of 95.45 % is 2.65 for 5 degrees of freedom, 2.00 for infinity.
    expect(budgetsWith('common', 5).whole.k).toBeCloseTo(2.65, 2)
    expect(budgetsWith('common', null).whole.k).toBeCloseTo(2, 2)
  })

  it('bring the size whole through the curve where it is common, and less of it where points are independent', () => {
    // A fit that follows a shift of all its points gives it back as it is.
    expect(budgetsWith('common', null).curve.u).toBeCloseTo(200, 0)
    expect(budgetsWith('independent', null).curve.u).toBeLessThan(150)
  })
})
