import { fitSeries } from '../fit/fit-request.ts'
import { welchSatterthwaite } from '../statistics/budget.ts'
import { answerBudget, BudgetRequest, type ResultAnswer } from '../statistics/budget-request.ts'
import { observedCorrelation } from '../statistics/correlation.ts'
import { coverageFactor } from '../statistics/coverage.ts'
import figures from './figures/gum-examples.json' with { type: 'json' }
import { gaugeBlockDifference, gaugeBlockRequest, type Numbers } from './gum-gauge-block.ts'
import { publication } from './publication.ts'

interface Example {
  id: string
  data?: number[][]
  data_C?: number[]
  inputs?: Record<string, number | string>[]
  published: Numbers & { interval_95_C: [number, number]; second_order_terms_nm: [number, number] }
  computed: Numbers
  computed_unrounded: Numbers
  approach_2_from_five_values_of_R_X_Z: Numbers
}
const example = (id: string): Example =>
  figures.rows.find((row) => row.id.startsWith(id)) as unknown as Example
const one = (request: object) => answerBudget(BudgetRequest.parse(request)) as ResultAnswer
const several = (request: object) =>
  answerBudget(BudgetRequest.parse(request)) as Extract<ReturnType<typeof answerBudget>, { outputs: unknown }>

const H2 = example('GUM H.2')
const h2Column = (k: number) => H2.data!.map((row) => row[k]!)
const H2_NAMES = ['V', 'I', 'phi']
const H2_PAIRS = [
  { a: 'V', b: 'I' },
  { a: 'V', b: 'phi' },
  { a: 'I', b: 'phi' },
]
const H2_MODEL = { R: '(V/I)*cos(phi)*1000', X: '(V/I)*sin(phi)*1000', Z: 'V/I*1000' }
const h2Inputs = () => H2_NAMES.map((name, k) => ({ name, observations: h2Column(k) }))
const h2Answer = () =>
  several({ inputs: h2Inputs(), correlations: H2_PAIRS, model: H2_MODEL, monteCarlo: false })

const H3 = example('GUM H.3')
function h3Fit() {
  const fit = fitSeries({
    x: H3.data!.map(([t]) => t! - 20),
    y: H3.data!.map(([, b]) => b!),
    model: { kind: 'polynomial', degree: 1 },
  })
  const [y1, y2] = fit.coefficients as [number, number]
  const [u1, u2] = fit.standardUncertainties as [number, number]
  return { fit, y1, y2, u1, u2, r: fit.covariance[0]![1]! / (u1 * u2) }
}

export const gum = publication(
  {
    id: 'gum',
    source:
      'JCGM 100:2008 (GUM), examples H.1, H.2, H.3, G.4.1 and table G.2; NIST Technical Note 1900, example E2',
    standing: figures.how_obtained,
    notChecked: [],
  },
  (check) => {
    const H1 = example('GUM H.1')
    const given = (name: string) => H1.inputs!.find((input) => input.name === name) as Numbers
    const h1 = () => one(gaugeBlockRequest(given)).jcgm100

    check('H.1, end-gauge calibration: length and combined standard uncertainty', (f) => {
      const { value, combined } = h1()
      f.printed('l', value, H1.published.l_nm!, 0, 'nm')
      f.printed('u_c(l)', combined, H1.published.uc_nm!, 0, 'nm')
      f.relative('u_c(l), unrounded', combined, H1.computed_unrounded.uc_nm!, 0.5e-8, 'nm')
      f.relative('u_c²(l), unrounded', combined ** 2, H1.computed_unrounded.uc2_nm2!, 0.5e-6, 'nm²')
      // The publication adds the squares of rounded contributions: 25^2 + 9.7^2 + 2.9^2 + 16.6^2 = 1002.
      f.printed('u_c²(l)', combined ** 2, H1.published.uc2_nm2!, 0, 'nm²', 0.2)
    })
    check('H.1: contributions', (f) => {
      const { contributions } = h1()
      f.printed('of l_s', contributions.ls!, H1.published.contribution_ls_nm!, 0, 'nm')
      f.printed('of δα', contributions.delta_alpha!, H1.published.contribution_delta_alpha_nm!, 1, 'nm')
      f.printed('of δθ', contributions.delta_theta!, H1.published.contribution_delta_theta_nm!, 1, 'nm')
      f.same('of α_s', contributions.alpha_s, 0, 'nm')
      f.same('of mean θ', contributions.theta_mean, 0, 'nm')
    })
    check('H.1: uncertainty of the measured difference with its degrees of freedom', (f) => {
      const d = one(gaugeBlockDifference(given)).jcgm100
      f.printed('u(d)', d.combined, H1.published.u_d_nm!, 1, 'nm')
      f.printed('contribution of d', d.combined, H1.published.contribution_d_nm!, 1, 'nm')
      f.decimals('u(d), unrounded', d.combined, H1.computed_unrounded.u_d_nm!, 8, 'nm')
      // Printed 25.6; from the printed inputs 25.4.
      f.decimals(
        'ν(d), from rounded inputs',
        d.effectiveDegreesOfFreedom,
        H1.computed_unrounded.dof_d_from_rounded_inputs!,
        3,
      )
      f.near('ν(d)', d.effectiveDegreesOfFreedom, H1.published.dof_d!, 0.2)
    })
    check('H.1: standard uncertainties of rectangular and arcsine inputs', (f) => {
      const u = h1().standardUncertainties
      f.printed('u(α_s)', u.alpha_s! * 1e6, given('alpha_s').u_per_C! * 1e6, 1, '10⁻⁶/°C')
      f.printed('u(Δ)', u.theta_cyclic!, given('theta cyclic').u_C!, 2, '°C')
      f.printed('u(δα)', u.delta_alpha! * 1e7, given('delta_alpha').u_per_C! * 1e7, 1, '10⁻⁷/°C')
      f.printed('u(δθ)', u.delta_theta!, given('delta_theta').u_C!, 3, '°C')
      f.printed('u(θ)', Math.hypot(u.theta_mean!, u.theta_cyclic!), H1.published.u_theta_C!, 2, '°C')
    })
    check('H.1: enters the t table with truncated degrees of freedom', (f) => {
      const found = h1()
      f.decimals('ν_eff', found.effectiveDegreesOfFreedom, H1.computed_unrounded.effective_dof!, 3)
      f.same('ν_eff used', found.degreesOfFreedomUsed, H1.published.effective_dof)
      f.printed('t_99', found.k, H1.published.t99!, 2)
      // The publication multiplies the rounded 32 nm by 2.92.
      f.printed('U_99 of the rounded u_c', H1.published.uc_nm! * found.k, H1.published.U99_nm!, 0, 'nm')
      f.decimals('U_99', found.U, 92.48, 2, 'nm')
    })
    check('H.1: terms of second order and the uncertainty with them', (f) => {
      const found = h1()
      const { combined } = found.higherOrder!
      f.relative('u_c, unrounded', combined, H1.computed_unrounded.uc_with_second_order_nm!, 0.5e-8, 'nm')
      f.printed('u_c', combined, H1.published.uc_with_second_order_nm!, 0, 'nm')
      const [large, small] = H1.published.second_order_terms_nm
      const second = Math.sqrt(combined ** 2 - found.combined ** 2)
      f.printed('terms of second order', second, Math.hypot(large, small), 0, 'nm')
    })

    check('H.2, resistance and reactance: means and standard uncertainties of the inputs', (f) => {
      const { standardUncertainties: u } = h2Answer().outputs.R!.jcgm100
      const { published } = H2
      const mean = (k: number) => h2Column(k).reduce((sum, value) => sum + value / 5, 0)
      f.printed(
        'V',
        one({ inputs: h2Inputs(), model: 'V', monteCarlo: false }).jcgm100.value,
        published.mean_V_volt!,
        3,
        'V',
      )
      f.printed('I', mean(1), published.mean_I_mA!, 3, 'mA')
      f.printed('φ', mean(2), published.mean_phi_rad!, 5, 'rad')
      f.printed('s(V)', u.V!, published.s_V_volt!, 4, 'V')
      f.printed('s(I)', u.I!, published.s_I_mA!, 4, 'mA')
      f.printed('s(φ)', u.phi!, published.s_phi_rad!, 5, 'rad')
    })
    for (const name of ['R', 'X', 'Z'] as const) {
      check(`H.2: ${name} and its standard uncertainty`, (f) => {
        const { jcgm100 } = h2Answer().outputs[name]!
        const { published, computed_unrounded } = H2
        const decimals = name === 'Z' ? 2 : 3
        f.printed(name, jcgm100.value, published[`${name}_ohm`]!, decimals, 'Ω', name === 'X' ? 5e-4 : 0)
        f.decimals(`${name}, unrounded`, jcgm100.value, computed_unrounded[`${name}_ohm`]!, 8, 'Ω')
        f.decimals(`u(${name}), unrounded`, jcgm100.combined, computed_unrounded[`u_${name}_ohm`]!, 7, 'Ω')
        // u(X) is printed 0.295; it is 0.29558.
        f.printed(
          `u(${name})`,
          jcgm100.combined,
          published[`u_${name}_ohm`]!,
          3,
          'Ω',
          name === 'X' ? 2e-4 : 0,
        )
        f.same('ν_eff', jcgm100.effectiveDegreesOfFreedom, 4)
      })
    }
    check('H.2: correlations of the results', (f) => {
      const { correlations } = h2Answer()
      for (const { a, b, r } of correlations) {
        f.decimals(`r(${a}, ${b}), unrounded`, r, H2.computed_unrounded[`r_${a}_${b}`]!, 7)
        f.printed(`r(${a}, ${b})`, r, H2.published[`r_${a}_${b}`]!, 3)
      }
      f.same('number of pairs', correlations.length, 3)
    })
    check('H.2: correlations of the inputs', (f) => {
      for (const { a, b } of H2_PAIRS) {
        const r = observedCorrelation(h2Column(H2_NAMES.indexOf(a)), h2Column(H2_NAMES.indexOf(b)))
        // The figures' own unrounded r(I, phi) is off in the seventh digit: exact fractions give -0.645111218.
        f.near(`r(${a}, ${b}), unrounded`, r, H2.computed_unrounded[`r_${a}_${b}`]!, a === 'I' ? 6e-7 : 1e-8)
        f.printed(`r(${a}, ${b})`, r, H2.published[`r_${a}_${b}`]!, 2)
      }
    })
    check('H.2, second approach: R, X and Z from each set of readings', (f) => {
      const second = H2.approach_2_from_five_values_of_R_X_Z
      const sets: Record<string, number[]> = {
        R: H2.data!.map(([v, i, phi]) => (1000 * v! * Math.cos(phi!)) / i!),
        X: H2.data!.map(([v, i, phi]) => (1000 * v! * Math.sin(phi!)) / i!),
        Z: H2.data!.map(([v, i]) => (1000 * v!) / i!),
      }
      for (const [name, observations] of Object.entries(sets)) {
        const { jcgm100 } = one({ inputs: [{ name, observations }], model: name, monteCarlo: false })
        f.decimals(name, jcgm100.value, second[`${name}_ohm`]!, 7, 'Ω')
        f.decimals(`u(${name})`, jcgm100.combined, second[`u_${name}_ohm`]!, 7, 'Ω')
      }
    })
    check('H.2: nearly the same from the printed correlations', (f) => {
      const { published } = H2
      const { jcgm100 } = several({
        inputs: [
          { name: 'V', value: 4.999, standardUncertainty: published.s_V_volt },
          { name: 'I', value: 19.661, standardUncertainty: published.s_I_mA },
          { name: 'phi', value: 1.04446, standardUncertainty: published.s_phi_rad },
        ],
        correlations: H2_PAIRS.map(({ a, b }) => ({ a, b, r: published[`r_${a}_${b}`] })),
        model: H2_MODEL,
        monteCarlo: false,
      }).outputs.R!
      f.near('u(R)', jcgm100.combined, published.u_R_ohm!, 0.0011, 'Ω')
    })

    check('H.3, calibration of a thermometer: correction curve, uncertainties and correlation', (f) => {
      const { published, computed } = H3
      const { fit, y1, y2, u1, u2, r } = h3Fit()
      f.printed('y1', y1, published.y1_C!, 4, '°C')
      f.printed('y2', y2, published.y2!, 5)
      f.printed('u(y1)', u1, published.u_y1_C!, 4, '°C')
      f.printed('u(y2)', u2, published.u_y2!, 5)
      f.printed('r(y1, y2)', r, published.r_y1_y2!, 2)
      f.printed('s', fit.residualSd, published.s_C!, 4, '°C')
      f.same('degrees of freedom', fit.degreesOfFreedom, published.dof)
      f.decimals('y1, unrounded', y1, computed.y1_C!, 12, '°C')
      f.decimals('y2, unrounded', y2, computed.y2!, 12)
      f.decimals('u(y1), unrounded', u1, computed.u_y1_C!, 12, '°C')
      f.decimals('u(y2), unrounded', u2, computed.u_y2!, 12)
      f.decimals('r(y1, y2), unrounded', r, computed.r_y1_y2!, 11)
      f.decimals('s, unrounded', fit.residualSd, computed.s_C!, 12, '°C')
      f.decimals('sum of squares', fit.chiSquared, computed.sum_of_squared_residuals_C2!, 14, '°C²')
    })
    check('H.3: correction at 30 °C by a budget of correlated coefficients', (f) => {
      const { published, computed } = H3
      const { y1, y2, u1, u2, r } = h3Fit()
      const { jcgm100 } = one({
        inputs: [
          { name: 'y1', value: y1, standardUncertainty: u1, degreesOfFreedom: 9 },
          { name: 'y2', value: y2, standardUncertainty: u2, degreesOfFreedom: 9 },
        ],
        correlations: [{ a: 'y1', b: 'y2', r }],
        model: 'y1 + y2 (30 - 20)',
        monteCarlo: false,
      })
      f.printed('b(30 °C)', jcgm100.value, published.b_at_30_C!, 4, '°C')
      f.printed('u(b)', jcgm100.combined, published.u_b_at_30_C!, 4, '°C')
      f.decimals('b(30 °C), unrounded', jcgm100.value, computed.b_at_30_C!, 12, '°C')
      f.decimals('u(b), unrounded', jcgm100.combined, computed.u_b_at_30_C!, 12, '°C')
      f.decimals('ν_eff', jcgm100.effectiveDegreesOfFreedom, 9, 9)
    })

    check('G.4.1: relative combined uncertainty, 19 degrees of freedom and U', (f) => {
      const { published, computed, inputs } = example('GUM G.4.1')
      const { jcgm100 } = one({
        inputs: inputs!.map(({ relative_u_percent, dof }, i) => ({
          name: `x${i + 1}`,
          value: 1,
          standardUncertainty: (relative_u_percent as number) / 100,
          degreesOfFreedom: dof,
        })),
        model: 'x1 x2 x3',
        monteCarlo: false,
      })
      f.printed('u_c', 100 * jcgm100.combined, published.relative_uc_percent!, 2, '%')
      f.decimals('u_c, unrounded', 100 * jcgm100.combined, computed.relative_uc_percent!, 12, '%')
      f.decimals('ν_eff, unrounded', jcgm100.effectiveDegreesOfFreedom, computed.effective_dof!, 9)
      f.printed('ν_eff', jcgm100.effectiveDegreesOfFreedom, published.effective_dof!, 1)
      f.same('ν_eff used', jcgm100.degreesOfFreedomUsed, 19)
      f.decimals('t_95, unrounded', jcgm100.k, computed.t95_at_19!, 12)
      f.printed('t_95', jcgm100.k, published.t95!, 2)
      f.printed('U_95', 100 * jcgm100.U, published.U95_percent!, 1, '%')
      f.decimals('U_95, unrounded', 100 * jcgm100.U, computed.U95_percent!, 4, '%')
      const own = welchSatterthwaite(
        computed.relative_uc_percent!,
        inputs!.map(({ relative_u_percent, dof }) => ({
          u: relative_u_percent as number,
          degreesOfFreedom: dof as number,
        })),
      )
      f.decimals('ν_eff by the formula alone', own, computed.effective_dof!, 9)
    })

    const table = figures.rows.find(({ id }) => id.startsWith('GUM Table G.2')) as unknown as {
      data: (number | string)[][]
    }
    const columns = [68.27, 90, 95, 95.45, 99, 99.73]
    for (const row of table.data) {
      check(`table G.2, ${row[0]} degrees of freedom`, (f) => {
        columns.forEach((percent, k) => {
          const dof = row[0] === 'infinity' ? Number.POSITIVE_INFINITY : (row[0] as number)
          const found = coverageFactor(percent, dof)
          f.relative(`t at ${percent} %, computed`, found, row[k + 7] as number, 0.5e-8)
          f.printed(`t at ${percent} %`, found, row[k + 1] as number, row[0] === 'infinity' ? 3 : 2)
        })
      })
    }

    check('NIST TN 1900 E2, surface temperature: mean, standard uncertainty, k and interval', (f) => {
      const { published, computed, data_C } = example('NIST TN 1900')
      const { jcgm100 } = one({
        inputs: [{ name: 't', observations: data_C }],
        model: 't',
        monteCarlo: false,
      })
      const s = jcgm100.combined * Math.sqrt(data_C!.length)
      f.printed('mean', jcgm100.value, published.mean_C!, 1, '°C')
      f.decimals('mean, unrounded', jcgm100.value, computed.mean_C!, 12, '°C')
      f.decimals('u, unrounded', jcgm100.combined, computed.u_mean_C!, 12, '°C')
      f.printed('u', jcgm100.combined, published.u_mean_C!, 3, '°C')
      f.printed('s', s, published.s_C!, 1, '°C')
      f.decimals('s, unrounded', s, computed.s_C!, 12, '°C')
      f.printed('k', jcgm100.k, published.k!, 2)
      f.decimals('k, unrounded', jcgm100.k, computed.k!, 12)
      jcgm100.interval.forEach((end, i) => {
        f.printed(`end ${i + 1} of the interval`, end, published.interval_95_C[i]!, 1, '°C')
        f.decimals(
          `end ${i + 1}, unrounded`,
          end,
          (computed.interval_95_C as unknown as number[])[i]!,
          8,
          '°C',
        )
      })
    })
  },
)
