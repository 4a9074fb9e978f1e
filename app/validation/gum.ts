import { at, columnOf, first, needed } from '../base/lists.ts'
import { fitSeries } from '../fit/fit-request.ts'
import { welchSatterthwaite } from '../statistics/budget.ts'
import { answerBudget, BudgetRequest, type ResultAnswer } from '../statistics/budget-request.ts'
import { observedCorrelation } from '../statistics/correlation.ts'
import { coverageFactor } from '../statistics/coverage.ts'
import figures from './figures/gum-examples.json' with { type: 'json' }
import { gaugeBlockDifference, gaugeBlockRequest, type Numbers } from './gum-gauge-block.ts'
import { type NamedNumbers, namedNumbers } from './named-numbers.ts'
import { publication } from './publication.ts'

type Row = Readonly<Record<string, unknown>>
const rowOf = (id: string) =>
  needed(
    figures.rows.find((row) => row.id.startsWith(id)),
    id,
  ) as unknown as Row
const numbersOf = (row: Row, part: string): NamedNumbers => namedNumbers(row[part] as Row)
const one = (request: object) => answerBudget(BudgetRequest.parse(request)) as ResultAnswer
const several = (request: object) =>
  answerBudget(BudgetRequest.parse(request)) as Extract<ReturnType<typeof answerBudget>, { outputs: unknown }>

const H2 = rowOf('GUM H.2') as { data: [V: number, I: number, phi: number][] } & Row
const h2Published = numbersOf(H2, 'published')
const h2Unrounded = numbersOf(H2, 'computed_unrounded')
const h2Column = (k: number) => columnOf(H2.data, k)
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
const h2Result = (name: string) => needed(h2Answer().outputs[name], name).jcgm100

const H3 = rowOf('GUM H.3') as { data: [t: number, b: number][] } & Row
function h3Fit() {
  const fit = fitSeries({
    x: H3.data.map(([t]) => t - 20),
    y: H3.data.map(([, b]) => b),
    model: { kind: 'polynomial', degree: 1 },
  })
  const [y1, y2] = fit.coefficients as [number, number]
  const [u1, u2] = fit.standardUncertainties as [number, number]
  return { fit, y1, y2, u1, u2, r: at(first(fit.covariance), 1) / (u1 * u2) }
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
    const H1 = rowOf('GUM H.1') as {
      inputs: Record<string, number | string>[]
      published: { second_order_terms_nm: [number, number] }
    } & Row
    const h1Published = numbersOf(H1, 'published')
    const h1Unrounded = numbersOf(H1, 'computed_unrounded')
    const given = (name: string) => H1.inputs.find((input) => input.name === name) as Numbers
    const givenNumber = (name: string, field: string) => namedNumbers(given(name))(field)
    const h1 = () => one(gaugeBlockRequest(given)).jcgm100

    check('H.1, end-gauge calibration: length and combined standard uncertainty', (f) => {
      const { value, combined } = h1()
      f.printed('l', value, h1Published('l_nm'), 0, 'nm')
      f.printed('u_c(l)', combined, h1Published('uc_nm'), 0, 'nm')
      f.relative('u_c(l), unrounded', combined, h1Unrounded('uc_nm'), 0.5e-8, 'nm')
      f.relative('u_c²(l), unrounded', combined ** 2, h1Unrounded('uc2_nm2'), 0.5e-6, 'nm²')
      // The publication adds the squares of rounded contributions: 25^2 + 9.7^2 + 2.9^2 + 16.6^2 = 1002.
      f.printed('u_c²(l)', combined ** 2, h1Published('uc2_nm2'), 0, 'nm²', 0.2)
    })
    check('H.1: contributions', (f) => {
      const contributions = namedNumbers(h1().contributions)
      f.printed('of l_s', contributions('ls'), h1Published('contribution_ls_nm'), 0, 'nm')
      f.printed('of δα', contributions('delta_alpha'), h1Published('contribution_delta_alpha_nm'), 1, 'nm')
      f.printed('of δθ', contributions('delta_theta'), h1Published('contribution_delta_theta_nm'), 1, 'nm')
      f.same('of α_s', contributions('alpha_s'), 0, 'nm')
      f.same('of mean θ', contributions('theta_mean'), 0, 'nm')
    })
    check('H.1: uncertainty of the measured difference with its degrees of freedom', (f) => {
      const d = one(gaugeBlockDifference(given)).jcgm100
      f.printed('u(d)', d.combined, h1Published('u_d_nm'), 1, 'nm')
      f.printed('contribution of d', d.combined, h1Published('contribution_d_nm'), 1, 'nm')
      f.decimals('u(d), unrounded', d.combined, h1Unrounded('u_d_nm'), 8, 'nm')
      // Printed 25.6; from the printed inputs 25.4.
      f.decimals(
        'ν(d), from rounded inputs',
        d.effectiveDegreesOfFreedom,
        h1Unrounded('dof_d_from_rounded_inputs'),
        3,
      )
      f.near('ν(d)', d.effectiveDegreesOfFreedom, h1Published('dof_d'), 0.2)
    })
    check('H.1: standard uncertainties of rectangular and arcsine inputs', (f) => {
      const u = namedNumbers(h1().standardUncertainties)
      f.printed('u(α_s)', u('alpha_s') * 1e6, givenNumber('alpha_s', 'u_per_C') * 1e6, 1, '10⁻⁶/°C')
      f.printed('u(Δ)', u('theta_cyclic'), givenNumber('theta cyclic', 'u_C'), 2, '°C')
      f.printed('u(δα)', u('delta_alpha') * 1e7, givenNumber('delta_alpha', 'u_per_C') * 1e7, 1, '10⁻⁷/°C')
      f.printed('u(δθ)', u('delta_theta'), givenNumber('delta_theta', 'u_C'), 3, '°C')
      f.printed('u(θ)', Math.hypot(u('theta_mean'), u('theta_cyclic')), h1Published('u_theta_C'), 2, '°C')
    })
    check('H.1: enters the t table with truncated degrees of freedom', (f) => {
      const found = h1()
      f.decimals('ν_eff', found.effectiveDegreesOfFreedom, h1Unrounded('effective_dof'), 3)
      f.same('ν_eff used', found.degreesOfFreedomUsed, h1Published('effective_dof'))
      f.printed('t_99', found.k, h1Published('t99'), 2)
      // The publication multiplies the rounded 32 nm by 2.92.
      f.printed('U_99 of the rounded u_c', h1Published('uc_nm') * found.k, h1Published('U99_nm'), 0, 'nm')
      f.decimals('U_99', found.U, 92.48, 2, 'nm')
    })
    check('H.1: terms of second order and the uncertainty with them', (f) => {
      const found = h1()
      const { combined } = needed(found.higherOrder, 'uncertainty of higher order')
      f.relative('u_c, unrounded', combined, h1Unrounded('uc_with_second_order_nm'), 0.5e-8, 'nm')
      f.printed('u_c', combined, h1Published('uc_with_second_order_nm'), 0, 'nm')
      const [large, small] = H1.published.second_order_terms_nm
      const second = Math.sqrt(combined ** 2 - found.combined ** 2)
      f.printed('terms of second order', second, Math.hypot(large, small), 0, 'nm')
    })

    check('H.2, resistance and reactance: means and standard uncertainties of the inputs', (f) => {
      const u = namedNumbers(h2Result('R').standardUncertainties)
      const published = h2Published
      const mean = (k: number) => h2Column(k).reduce((sum, value) => sum + value / 5, 0)
      f.printed(
        'V',
        one({ inputs: h2Inputs(), model: 'V', monteCarlo: false }).jcgm100.value,
        published('mean_V_volt'),
        3,
        'V',
      )
      f.printed('I', mean(1), published('mean_I_mA'), 3, 'mA')
      f.printed('φ', mean(2), published('mean_phi_rad'), 5, 'rad')
      f.printed('s(V)', u('V'), published('s_V_volt'), 4, 'V')
      f.printed('s(I)', u('I'), published('s_I_mA'), 4, 'mA')
      f.printed('s(φ)', u('phi'), published('s_phi_rad'), 5, 'rad')
    })
    for (const name of ['R', 'X', 'Z'] as const) {
      check(`H.2: ${name} and its standard uncertainty`, (f) => {
        const jcgm100 = h2Result(name)
        const decimals = name === 'Z' ? 2 : 3
        f.printed(name, jcgm100.value, h2Published(`${name}_ohm`), decimals, 'Ω', name === 'X' ? 5e-4 : 0)
        f.decimals(`${name}, unrounded`, jcgm100.value, h2Unrounded(`${name}_ohm`), 8, 'Ω')
        f.decimals(`u(${name}), unrounded`, jcgm100.combined, h2Unrounded(`u_${name}_ohm`), 7, 'Ω')
        // u(X) is printed 0.295; it is 0.29558.
        f.printed(
          `u(${name})`,
          jcgm100.combined,
          h2Published(`u_${name}_ohm`),
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
        f.decimals(`r(${a}, ${b}), unrounded`, r, h2Unrounded(`r_${a}_${b}`), 7)
        f.printed(`r(${a}, ${b})`, r, h2Published(`r_${a}_${b}`), 3)
      }
      f.same('number of pairs', correlations.length, 3)
    })
    check('H.2: correlations of the inputs', (f) => {
      for (const { a, b } of H2_PAIRS) {
        const r = observedCorrelation(h2Column(H2_NAMES.indexOf(a)), h2Column(H2_NAMES.indexOf(b)))
        // The figures' own unrounded r(I, phi) is off in the seventh digit: exact fractions give -0.645111218.
        f.near(`r(${a}, ${b}), unrounded`, r, h2Unrounded(`r_${a}_${b}`), a === 'I' ? 6e-7 : 1e-8)
        f.printed(`r(${a}, ${b})`, r, h2Published(`r_${a}_${b}`), 2)
      }
    })
    check('H.2, second approach: R, X and Z from each set of readings', (f) => {
      const second = numbersOf(H2, 'approach_2_from_five_values_of_R_X_Z')
      const sets: Record<string, number[]> = {
        R: H2.data.map(([v, i, phi]) => (1000 * v * Math.cos(phi)) / i),
        X: H2.data.map(([v, i, phi]) => (1000 * v * Math.sin(phi)) / i),
        Z: H2.data.map(([v, i]) => (1000 * v) / i),
      }
      for (const [name, observations] of Object.entries(sets)) {
        const { jcgm100 } = one({ inputs: [{ name, observations }], model: name, monteCarlo: false })
        f.decimals(name, jcgm100.value, second(`${name}_ohm`), 7, 'Ω')
        f.decimals(`u(${name})`, jcgm100.combined, second(`u_${name}_ohm`), 7, 'Ω')
      }
    })
    check('H.2: nearly the same from the printed correlations', (f) => {
      const published = h2Published
      const { R } = several({
        inputs: [
          { name: 'V', value: 4.999, standardUncertainty: published('s_V_volt') },
          { name: 'I', value: 19.661, standardUncertainty: published('s_I_mA') },
          { name: 'phi', value: 1.04446, standardUncertainty: published('s_phi_rad') },
        ],
        correlations: H2_PAIRS.map(({ a, b }) => ({ a, b, r: h2Published(`r_${a}_${b}`) })),
        model: H2_MODEL,
        monteCarlo: false,
      }).outputs
      f.near('u(R)', needed(R, 'R').jcgm100.combined, published('u_R_ohm'), 0.0011, 'Ω')
    })

    check('H.3, calibration of a thermometer: correction curve, uncertainties and correlation', (f) => {
      const [published, computed] = [numbersOf(H3, 'published'), numbersOf(H3, 'computed')]
      const { fit, y1, y2, u1, u2, r } = h3Fit()
      f.printed('y1', y1, published('y1_C'), 4, '°C')
      f.printed('y2', y2, published('y2'), 5)
      f.printed('u(y1)', u1, published('u_y1_C'), 4, '°C')
      f.printed('u(y2)', u2, published('u_y2'), 5)
      f.printed('r(y1, y2)', r, published('r_y1_y2'), 2)
      f.printed('s', fit.residualSd, published('s_C'), 4, '°C')
      f.same('degrees of freedom', fit.degreesOfFreedom, published('dof'))
      f.decimals('y1, unrounded', y1, computed('y1_C'), 12, '°C')
      f.decimals('y2, unrounded', y2, computed('y2'), 12)
      f.decimals('u(y1), unrounded', u1, computed('u_y1_C'), 12, '°C')
      f.decimals('u(y2), unrounded', u2, computed('u_y2'), 12)
      f.decimals('r(y1, y2), unrounded', r, computed('r_y1_y2'), 11)
      f.decimals('s, unrounded', fit.residualSd, computed('s_C'), 12, '°C')
      f.decimals('sum of squares', fit.chiSquared, computed('sum_of_squared_residuals_C2'), 14, '°C²')
    })
    check('H.3: correction at 30 °C by a budget of correlated coefficients', (f) => {
      const [published, computed] = [numbersOf(H3, 'published'), numbersOf(H3, 'computed')]
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
      f.printed('b(30 °C)', jcgm100.value, published('b_at_30_C'), 4, '°C')
      f.printed('u(b)', jcgm100.combined, published('u_b_at_30_C'), 4, '°C')
      f.decimals('b(30 °C), unrounded', jcgm100.value, computed('b_at_30_C'), 12, '°C')
      f.decimals('u(b), unrounded', jcgm100.combined, computed('u_b_at_30_C'), 12, '°C')
      f.decimals('ν_eff', jcgm100.effectiveDegreesOfFreedom, 9, 9)
    })

    check('G.4.1: relative combined uncertainty, 19 degrees of freedom and U', (f) => {
      const row = rowOf('GUM G.4.1')
      const [published, computed] = [numbersOf(row, 'published'), numbersOf(row, 'computed')]
      const inputs = row.inputs as { relative_u_percent: number; dof: number }[]
      const { jcgm100 } = one({
        inputs: inputs.map(({ relative_u_percent, dof }, i) => ({
          name: `x${i + 1}`,
          value: 1,
          standardUncertainty: relative_u_percent / 100,
          degreesOfFreedom: dof,
        })),
        model: 'x1 x2 x3',
        monteCarlo: false,
      })
      f.printed('u_c', 100 * jcgm100.combined, published('relative_uc_percent'), 2, '%')
      f.decimals('u_c, unrounded', 100 * jcgm100.combined, computed('relative_uc_percent'), 12, '%')
      f.decimals('ν_eff, unrounded', jcgm100.effectiveDegreesOfFreedom, computed('effective_dof'), 9)
      f.printed('ν_eff', jcgm100.effectiveDegreesOfFreedom, published('effective_dof'), 1)
      f.same('ν_eff used', jcgm100.degreesOfFreedomUsed, 19)
      f.decimals('t_95, unrounded', jcgm100.k, computed('t95_at_19'), 12)
      f.printed('t_95', jcgm100.k, published('t95'), 2)
      f.printed('U_95', 100 * jcgm100.U, published('U95_percent'), 1, '%')
      f.decimals('U_95, unrounded', 100 * jcgm100.U, computed('U95_percent'), 4, '%')
      const own = welchSatterthwaite(
        computed('relative_uc_percent'),
        inputs.map(({ relative_u_percent, dof }) => ({ u: relative_u_percent, degreesOfFreedom: dof })),
      )
      f.decimals('ν_eff by the formula alone', own, computed('effective_dof'), 9)
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
      const row = rowOf('NIST TN 1900') as {
        data_C: number[]
        published: { interval_95_C: [number, number] }
        computed: { interval_95_C: [number, number] }
      } & Row
      const [published, computed] = [numbersOf(row, 'published'), numbersOf(row, 'computed')]
      const { jcgm100 } = one({
        inputs: [{ name: 't', observations: row.data_C }],
        model: 't',
        monteCarlo: false,
      })
      const s = jcgm100.combined * Math.sqrt(row.data_C.length)
      f.printed('mean', jcgm100.value, published('mean_C'), 1, '°C')
      f.decimals('mean, unrounded', jcgm100.value, computed('mean_C'), 12, '°C')
      f.decimals('u, unrounded', jcgm100.combined, computed('u_mean_C'), 12, '°C')
      f.printed('u', jcgm100.combined, published('u_mean_C'), 3, '°C')
      f.printed('s', s, published('s_C'), 1, '°C')
      f.decimals('s, unrounded', s, computed('s_C'), 12, '°C')
      f.printed('k', jcgm100.k, published('k'), 2)
      f.decimals('k, unrounded', jcgm100.k, computed('k'), 12)
      for (const [i, end] of jcgm100.interval.entries()) {
        f.printed(`end ${i + 1} of the interval`, end, at(row.published.interval_95_C, i), 1, '°C')
        f.decimals(`end ${i + 1}, unrounded`, end, at(row.computed.interval_95_C, i), 8, '°C')
      }
    })
  },
)
