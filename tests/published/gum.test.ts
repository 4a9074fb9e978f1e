/**
 * JCGM 100:2008 (GUM), examples H.1, H.2, H.3, G.4.1 and table G.2; NIST Technical Note 1900, example E2.
 *
 * Figures and their standing: figures/gum-examples.json. Each example is run through the request of `stillpoint budget`
 * or `stillpoint fit`, as a reader would state it.
 */
import { describe, expect, it } from 'vitest'
import { fitSeries } from '../../app/fit/fit-request.ts'
import { welchSatterthwaite } from '../../app/statistics/budget.ts'
import { answerBudget, BudgetRequest, type ResultAnswer } from '../../app/statistics/budget-request.ts'
import { observedCorrelation } from '../../app/statistics/correlation.ts'
import { coverageFactor } from '../../app/statistics/coverage.ts'
import figures from './figures/gum-examples.json' with { type: 'json' }

type Figures = Record<string, number>
interface Example {
  id: string
  data?: number[][]
  data_C?: number[]
  inputs?: Record<string, number | string>[]
  published: Figures & { interval_95_C: [number, number]; second_order_terms_nm: [number, number] }
  computed: Figures
  computed_unrounded: Figures
  approach_2_from_five_values_of_R_X_Z: Figures
}
const example = (id: string): Example =>
  figures.rows.find((row) => row.id.startsWith(id)) as unknown as Example

/** Equal after rounding to the decimals that were printed. */
function expectPrinted(found: number, printed: number, decimals: number, slack = 0): void {
  expect(Math.abs(found - printed)).toBeLessThanOrEqual(0.5 * 10 ** -decimals * (1 + 1e-9) + slack)
}
const one = (request: object) => answerBudget(BudgetRequest.parse(request)) as ResultAnswer
const several = (request: object) =>
  answerBudget(BudgetRequest.parse(request)) as Extract<ReturnType<typeof answerBudget>, { outputs: unknown }>

describe('GUM H.1, end-gauge calibration', () => {
  const { published, computed_unrounded, inputs } = example('GUM H.1')
  const given = (name: string) => inputs!.find((input) => input.name === name) as Figures
  const difference = {
    inputs: [
      ['d0', 'd repeated observations'],
      ['d1', 'd random effects of comparator'],
      ['d2', 'd systematic effects of comparator'],
    ].map(([name, long]) => ({
      name,
      value: given(long!).value_nm,
      standardUncertainty: given(long!).u_nm,
      degreesOfFreedom: given(long!).dof,
    })),
    model: 'd0 + d1 + d2',
    monteCarlo: false,
  }
  const request = {
    inputs: [
      {
        name: 'ls',
        value: given('ls').value_nm,
        standardUncertainty: given('ls').u_nm,
        degreesOfFreedom: given('ls').dof,
      },
      ...difference.inputs,
      {
        name: 'alpha_s',
        value: given('alpha_s').value_per_C,
        distribution: 'rectangular',
        halfWidth: given('alpha_s').half_width_per_C,
      },
      {
        name: 'theta_mean',
        value: given('theta mean').value_C,
        standardUncertainty: given('theta mean').u_C,
      },
      {
        name: 'theta_cyclic',
        value: given('theta cyclic').value_C,
        distribution: 'arcsine',
        halfWidth: given('theta cyclic').half_width_C,
      },
      {
        name: 'delta_alpha',
        value: given('delta_alpha').value_per_C,
        distribution: 'rectangular',
        halfWidth: given('delta_alpha').half_width_per_C,
        degreesOfFreedom: given('delta_alpha').dof,
      },
      {
        name: 'delta_theta',
        value: given('delta_theta').value_C,
        distribution: 'rectangular',
        halfWidth: given('delta_theta').half_width_C,
        degreesOfFreedom: given('delta_theta').dof,
      },
    ],
    model: 'l = ls + (d0 + d1 + d2) - ls (delta_alpha (theta_mean + theta_cyclic) + alpha_s delta_theta)',
    coverage: 0.99,
    monteCarlo: false,
  }
  const { jcgm100 } = one(request)

  it('gives the length and its combined standard uncertainty', () => {
    expectPrinted(jcgm100.value, published.l_nm!, 0)
    expectPrinted(jcgm100.combined, published.uc_nm!, 0)
    expect(jcgm100.combined / computed_unrounded.uc_nm!).toBeCloseTo(1, 8)
    expect(jcgm100.combined ** 2 / computed_unrounded.uc2_nm2!).toBeCloseTo(1, 6)
    // The publication adds the squares of rounded contributions: 25^2 + 9.7^2 + 2.9^2 + 16.6^2 = 1002.
    expectPrinted(jcgm100.combined ** 2, published.uc2_nm2!, 0, 0.2)
  })
  it('gives the contributions', () => {
    expectPrinted(jcgm100.contributions.ls!, published.contribution_ls_nm!, 0)
    expectPrinted(jcgm100.contributions.delta_alpha!, published.contribution_delta_alpha_nm!, 1)
    expectPrinted(jcgm100.contributions.delta_theta!, published.contribution_delta_theta_nm!, 1)
    expect(jcgm100.contributions.alpha_s).toBe(0)
    expect(jcgm100.contributions.theta_mean).toBe(0)
  })
  it('gives the uncertainty of the measured difference with its degrees of freedom', () => {
    const d = one(difference).jcgm100
    expectPrinted(d.combined, published.u_d_nm!, 1)
    expectPrinted(d.combined, published.contribution_d_nm!, 1)
    expect(d.combined).toBeCloseTo(computed_unrounded.u_d_nm!, 8)
    // Printed 25.6; from the printed inputs 25.4.
    expect(d.effectiveDegreesOfFreedom).toBeCloseTo(computed_unrounded.dof_d_from_rounded_inputs!, 3)
    expect(Math.abs(d.effectiveDegreesOfFreedom - published.dof_d!)).toBeLessThan(0.2)
  })
  it('gives the standard uncertainties of rectangular and arcsine inputs', () => {
    const u = jcgm100.standardUncertainties
    expectPrinted(u.alpha_s! * 1e6, given('alpha_s').u_per_C! * 1e6, 1)
    expectPrinted(u.theta_cyclic!, given('theta cyclic').u_C!, 2)
    expectPrinted(u.delta_alpha! * 1e7, given('delta_alpha').u_per_C! * 1e7, 1)
    expectPrinted(u.delta_theta!, given('delta_theta').u_C!, 3)
    expectPrinted(Math.hypot(u.theta_mean!, u.theta_cyclic!), published.u_theta_C!, 2)
  })
  it('enters the t table with truncated degrees of freedom', () => {
    expect(jcgm100.effectiveDegreesOfFreedom).toBeCloseTo(computed_unrounded.effective_dof!, 3)
    expect(jcgm100.degreesOfFreedomUsed).toBe(published.effective_dof)
    expectPrinted(jcgm100.k, published.t99!, 2)
    // The publication multiplies the rounded 32 nm by 2.92.
    expectPrinted(published.uc_nm! * jcgm100.k, published.U99_nm!, 0)
    expect(jcgm100.U).toBeCloseTo(92.48, 2)
  })
  it('gives the terms of second order and the uncertainty with them', () => {
    const { combined } = jcgm100.higherOrder!
    expect(combined / computed_unrounded.uc_with_second_order_nm!).toBeCloseTo(1, 8)
    expectPrinted(combined, published.uc_with_second_order_nm!, 0)
    const [large, small] = published.second_order_terms_nm
    const second = Math.sqrt(combined ** 2 - jcgm100.combined ** 2)
    expectPrinted(second, Math.hypot(large, small), 0)
  })
})

describe('GUM H.2, simultaneous resistance and reactance', () => {
  const { published, computed_unrounded, data } = example('GUM H.2')
  const column = (k: number) => data!.map((row) => row[k]!)
  const names = ['V', 'I', 'phi']
  const pairs = [
    { a: 'V', b: 'I' },
    { a: 'V', b: 'phi' },
    { a: 'I', b: 'phi' },
  ]
  const model = { R: '(V/I)*cos(phi)*1000', X: '(V/I)*sin(phi)*1000', Z: 'V/I*1000' }
  const answer = several({
    inputs: names.map((name, k) => ({ name, observations: column(k) })),
    correlations: pairs,
    model,
    monteCarlo: false,
  })
  it('gives means, standard uncertainties and correlations of the inputs', () => {
    const { standardUncertainties } = answer.outputs.R!.jcgm100
    const plain = one({
      inputs: names.map((name, k) => ({ name, observations: column(k) })),
      model: 'V',
      monteCarlo: false,
    })
    expectPrinted(plain.value, published.mean_V_volt!, 3)
    expectPrinted(standardUncertainties.V!, published.s_V_volt!, 4)
    expectPrinted(standardUncertainties.I!, published.s_I_mA!, 4)
    expectPrinted(standardUncertainties.phi!, published.s_phi_rad!, 5)
    const mean = (k: number) => column(k).reduce((sum, value) => sum + value / 5, 0)
    expectPrinted(mean(1), published.mean_I_mA!, 3)
    expectPrinted(mean(2), published.mean_phi_rad!, 5)
  })
  it.each([
    ['R', 'R_ohm', 'u_R_ohm'],
    ['X', 'X_ohm', 'u_X_ohm'],
    ['Z', 'Z_ohm', 'u_Z_ohm'],
  ])('gives %s and its standard uncertainty', (name, value, u) => {
    const { jcgm100 } = answer.outputs[name]!
    expectPrinted(jcgm100.value, published[value]!, name === 'Z' ? 2 : 3, name === 'X' ? 5e-4 : 0)
    expect(jcgm100.value).toBeCloseTo(computed_unrounded[value]!, 8)
    expect(jcgm100.combined).toBeCloseTo(computed_unrounded[u]!, 7)
    // u(X) is printed 0.295; it is 0.29558.
    expectPrinted(jcgm100.combined, published[u]!, 3, name === 'X' ? 2e-4 : 0)
    expect(jcgm100.effectiveDegreesOfFreedom).toBe(4)
  })
  it('gives the correlations of the results', () => {
    for (const { a, b, r } of answer.correlations) {
      expect(r).toBeCloseTo(computed_unrounded[`r_${a}_${b}`]!, 7)
      expectPrinted(r, published[`r_${a}_${b}`]!, 3)
    }
    expect(answer.correlations).toHaveLength(3)
  })
  it('gives the correlations of the inputs', () => {
    for (const { a, b } of pairs) {
      const r = observedCorrelation(column(names.indexOf(a)), column(names.indexOf(b)))
      // The figures' own unrounded r(I, phi) is off in the seventh digit: exact fractions give -0.645111218.
      expect(Math.abs(r - computed_unrounded[`r_${a}_${b}`]!)).toBeLessThan(a === 'I' ? 6e-7 : 1e-8)
      expectPrinted(r, published[`r_${a}_${b}`]!, 2)
    }
  })
  it('gives the second approach: R, X and Z from each set of readings', () => {
    const second = example('GUM H.2').approach_2_from_five_values_of_R_X_Z
    const sets: Record<string, number[]> = {
      R: data!.map(([v, i, phi]) => (1000 * v! * Math.cos(phi!)) / i!),
      X: data!.map(([v, i, phi]) => (1000 * v! * Math.sin(phi!)) / i!),
      Z: data!.map(([v, i]) => (1000 * v!) / i!),
    }
    for (const [name, observations] of Object.entries(sets)) {
      const { jcgm100 } = one({ inputs: [{ name, observations }], model: name, monteCarlo: false })
      expect(jcgm100.value).toBeCloseTo(second[`${name}_ohm`]!, 7)
      expect(jcgm100.combined).toBeCloseTo(second[`u_${name}_ohm`]!, 7)
    }
  })
  it('gives nearly the same from the printed correlations', () => {
    const { jcgm100 } = several({
      inputs: [
        { name: 'V', value: 4.999, standardUncertainty: published.s_V_volt },
        { name: 'I', value: 19.661, standardUncertainty: published.s_I_mA },
        { name: 'phi', value: 1.04446, standardUncertainty: published.s_phi_rad },
      ],
      correlations: pairs.map(({ a, b }) => ({ a, b, r: published[`r_${a}_${b}`] })),
      model,
      monteCarlo: false,
    }).outputs.R!
    expect(Math.abs(jcgm100.combined - published.u_R_ohm!)).toBeLessThan(0.0011)
  })
})

describe('GUM H.3, calibration of a thermometer', () => {
  const { published, computed, data } = example('GUM H.3')
  const fit = fitSeries({
    x: data!.map(([t]) => t! - 20),
    y: data!.map(([, b]) => b!),
    model: { kind: 'polynomial', degree: 1 },
  })
  const [y1, y2] = fit.coefficients as number[]
  const [u1, u2] = fit.standardUncertainties as number[]
  const r = fit.covariance[0]![1]! / (u1! * u2!)
  it('gives the correction curve, its uncertainties and their correlation', () => {
    expectPrinted(y1!, published.y1_C!, 4)
    expectPrinted(y2!, published.y2!, 5)
    expectPrinted(u1!, published.u_y1_C!, 4)
    expectPrinted(u2!, published.u_y2!, 5)
    expectPrinted(r, published.r_y1_y2!, 2)
    expectPrinted(fit.residualSd, published.s_C!, 4)
    expect(fit.degreesOfFreedom).toBe(published.dof)
    expect(y1!).toBeCloseTo(computed.y1_C!, 12)
    expect(y2!).toBeCloseTo(computed.y2!, 12)
    expect(u1!).toBeCloseTo(computed.u_y1_C!, 12)
    expect(u2!).toBeCloseTo(computed.u_y2!, 12)
    expect(r).toBeCloseTo(computed.r_y1_y2!, 11)
    expect(fit.residualSd).toBeCloseTo(computed.s_C!, 12)
    expect(fit.chiSquared).toBeCloseTo(computed.sum_of_squared_residuals_C2!, 14)
  })
  it('gives the correction at 30 degC by a budget of correlated coefficients', () => {
    const { jcgm100 } = one({
      inputs: [
        { name: 'y1', value: y1, standardUncertainty: u1, degreesOfFreedom: 9 },
        { name: 'y2', value: y2, standardUncertainty: u2, degreesOfFreedom: 9 },
      ],
      correlations: [{ a: 'y1', b: 'y2', r }],
      model: 'y1 + y2 (30 - 20)',
      monteCarlo: false,
    })
    expectPrinted(jcgm100.value, published.b_at_30_C!, 4)
    expectPrinted(jcgm100.combined, published.u_b_at_30_C!, 4)
    expect(jcgm100.value).toBeCloseTo(computed.b_at_30_C!, 12)
    expect(jcgm100.combined).toBeCloseTo(computed.u_b_at_30_C!, 12)
    expect(jcgm100.effectiveDegreesOfFreedom).toBeCloseTo(9, 9)
  })
})

describe('GUM G.4.1, effective degrees of freedom', () => {
  const { published, computed, inputs } = example('GUM G.4.1')
  const request = {
    inputs: inputs!.map(({ relative_u_percent, dof }, i) => ({
      name: `x${i + 1}`,
      value: 1,
      standardUncertainty: (relative_u_percent as number) / 100,
      degreesOfFreedom: dof,
    })),
    model: 'x1 x2 x3',
    monteCarlo: false,
  }
  const { jcgm100 } = one(request)
  it('gives the relative combined uncertainty, 19 degrees of freedom and U', () => {
    expectPrinted(100 * jcgm100.combined, published.relative_uc_percent!, 2)
    expect(100 * jcgm100.combined).toBeCloseTo(computed.relative_uc_percent!, 12)
    expect(jcgm100.effectiveDegreesOfFreedom).toBeCloseTo(computed.effective_dof!, 9)
    expectPrinted(jcgm100.effectiveDegreesOfFreedom, published.effective_dof!, 1)
    expect(jcgm100.degreesOfFreedomUsed).toBe(19)
    expect(jcgm100.k).toBeCloseTo(computed.t95_at_19!, 12)
    expectPrinted(jcgm100.k, published.t95!, 2)
    expectPrinted(100 * jcgm100.U, published.U95_percent!, 1)
    expect(100 * jcgm100.U).toBeCloseTo(computed.U95_percent!, 4)
  })
  it('is what welchSatterthwaite gives', () => {
    const found = welchSatterthwaite(
      computed.relative_uc_percent!,
      inputs!.map(({ relative_u_percent, dof }) => ({
        u: relative_u_percent as number,
        degreesOfFreedom: dof as number,
      })),
    )
    expect(found).toBeCloseTo(computed.effective_dof!, 9)
  })
})

describe('coverageFactor on GUM table G.2', () => {
  const table = figures.rows.find(({ id }) => id.startsWith('GUM Table G.2')) as unknown as {
    data: (number | string)[][]
  }
  const columns = [68.27, 90, 95, 95.45, 99, 99.73]
  it.each(table.data.map((row) => [row[0]!, row] as const))(
    'gives the row of %s degrees of freedom',
    (dof, row) => {
      columns.forEach((percent, k) => {
        const found = coverageFactor(percent, dof === 'infinity' ? Number.POSITIVE_INFINITY : (dof as number))
        expect(found / (row[k + 7] as number)).toBeCloseTo(1, 8)
        expectPrinted(found, row[k + 1] as number, dof === 'infinity' ? 3 : 2)
      })
    },
  )
})

describe('NIST TN 1900 E2, surface temperature', () => {
  const { published, computed, data_C } = example('NIST TN 1900')
  const { jcgm100 } = one({ inputs: [{ name: 't', observations: data_C }], model: 't', monteCarlo: false })
  it('gives mean, standard uncertainty, k and interval', () => {
    expectPrinted(jcgm100.value, published.mean_C!, 1)
    expect(jcgm100.value).toBeCloseTo(computed.mean_C!, 12)
    expect(jcgm100.combined).toBeCloseTo(computed.u_mean_C!, 12)
    expectPrinted(jcgm100.combined, published.u_mean_C!, 3)
    expectPrinted(jcgm100.combined * Math.sqrt(data_C!.length), published.s_C!, 1)
    expect(jcgm100.combined * Math.sqrt(data_C!.length)).toBeCloseTo(computed.s_C!, 12)
    expectPrinted(jcgm100.k, published.k!, 2)
    expect(jcgm100.k).toBeCloseTo(computed.k!, 12)
    jcgm100.interval.forEach((end, i) => {
      expectPrinted(end, published.interval_95_C[i]!, 1)
      expect(end).toBeCloseTo((computed.interval_95_C as unknown as number[])[i]!, 8)
    })
  })
})
