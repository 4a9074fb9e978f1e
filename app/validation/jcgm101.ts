import { at, needed } from '../base/lists.ts'
import { answerBudget, BudgetRequest, type ResultAnswer } from '../statistics/budget-request.ts'
import type { MonteCarloResult } from '../statistics/monte-carlo.ts'
import figures from './figures/gum-examples.json' with { type: 'json' }
import { namedNumbers } from './named-numbers.ts'
import { publication } from './publication.ts'

type Pair = [number, number]
type Numbers = Record<string, number>
interface Example {
  id: string
  inputs: Record<string, number | string>[]
  published: Record<string, unknown>
  computed: Record<string, unknown>
}
const example = (id: string): Example =>
  figures.rows.find((row) => row.id.startsWith(id)) as unknown as Example

/** An answer in which the Monte Carlo ran and was compared. */
type WholeAnswer = Required<ResultAnswer> & { jcgm101: MonteCarloResult }
const run = (request: object) => answerBudget(BudgetRequest.parse(request)) as WholeAnswer
const four = (kind: string) =>
  ['X1', 'X2', 'X3', 'X4'].map((name) => ({ name, value: 0, standardUncertainty: 1, distribution: kind }))
const SUM = 'X1 + X2 + X3 + X4'

function massRequest({ inputs }: Example) {
  return {
    inputs: inputs.map(({ name, distribution, mean_mg, sd_mg, ...limits }) => {
      if (distribution === 'normal') return { name, value: mean_mg, standardUncertainty: sd_mg, distribution }
      const [lower, upper] = Object.values(limits)
      return { name, distribution, lower, upper }
    }),
    model: '(mRc + dmRc) * (1 + (rho_a - 1.2) * (1/rho_W - 1/rho_R)) - 100000',
    monteCarlo: { trials: 1_000_000, seed: 3 },
  }
}

const loss = (x1: number, correlations: readonly { a: string; b: string; r: number }[] = []) =>
  run({
    inputs: [
      { name: 'x1', value: x1, standardUncertainty: 0.005, distribution: 'normal' },
      { name: 'x2', value: 0, standardUncertainty: 0.005, distribution: 'normal' },
    ],
    correlations,
    model: 'x1^2 + x2^2',
  })

const t = (name: string, value: number, standardUncertainty: number, degreesOfFreedom: number) => ({
  name,
  value,
  standardUncertainty,
  degreesOfFreedom,
  distribution: 't',
})
const GAUGE_BLOCK = {
  inputs: [
    t('Ls', 50000623, 25, 18),
    t('D', 215, 5.8, 24),
    t('d1', 0, 3.9, 5),
    t('d2', 0, 6.7, 8),
    { name: 'as', distribution: 'uniform', lower: 9.5e-6, upper: 13.5e-6 },
    { name: 'theta0', value: -0.1, standardUncertainty: 0.2 },
    { name: 'Delta', value: 0, distribution: 'U-shaped', halfWidth: 0.5 },
    { name: 'da', value: 0, distribution: 'curvilinear trapezoid', halfWidth: 1e-6, limits: 0.1e-6 },
    { name: 'dt', value: 0, distribution: 'curvilinear trapezoid', halfWidth: 0.05, limits: 0.025 },
  ],
  model: 'Ls + D + d1 + d2 - Ls*(da*(theta0 + Delta) + as*dt) - 50000000',
  coverage: 0.99,
  monteCarlo: { trials: 2_000_000 },
}

export const jcgm101 = publication(
  {
    id: 'jcgm101',
    source: 'JCGM 101:2008 (GUM Supplement 1), examples 9.2.2, 9.2.3, 9.3, 9.4 and 9.5',
    standing: `${figures.how_obtained} Figures of 9.4 are the closed forms of the example, worked here: for two independent normal inputs of standard uncertainty u about 0 the loss is exponential of mean 2 u². The printed results of 9.5 (838 nm, 36 nm, [745, 932] nm) are from memory.`,
    notChecked: [
      '9.2.4, in which one rectangular input dominates: its printed figures were not at hand; the sum is checked against its closed form instead.',
    ],
  },
  (check) => {
    check('9.2.2: normal inputs give u = 2 and the interval of the budget', (f) => {
      const { published, computed } = example('JCGM 101 9.2.2')
      const { jcgm100, jcgm101, comparison } = run({ inputs: four('normal'), model: SUM })
      f.same('u', jcgm100.combined, computed.u)
      f.same('y', jcgm100.value, published.y)
      f.decimals('half width at 95 %', jcgm100.U, computed.half_width_95 as number, 12)
      f.near('y, Monte Carlo', jcgm101.value, 0, 0.01)
      f.near('u, Monte Carlo', jcgm101.standardUncertainty, published.u as number, 0.01)
      ;(published.interval_95 as Pair).forEach((end, i) => {
        f.near(`end ${i + 1}, Monte Carlo`, at(jcgm101.symmetric, i), end, 0.02)
        f.near(`end ${i + 1}`, at(jcgm100.interval, i), end, 0.005)
      })
      f.same('δ', comparison.delta, 0.05)
      f.same('budget validated', comparison.validated, true)
    })
    check('9.2.3: rectangular inputs give an interval shorter than that of the budget', (f) => {
      const { published, computed } = example('JCGM 101 9.2.3')
      const { jcgm100, jcgm101, comparison } = run({
        inputs: four('rectangular'),
        model: SUM,
        monteCarlo: { trials: 4_000_000, digits: 3 },
      })
      const half = computed.half_width_95 as number
      f.decimals('half width, closed form', half, 2 * Math.sqrt(3) * (2 - (3 / 5) ** 0.25), 12)
      f.same('y', jcgm100.value, published.y)
      f.near('u, Monte Carlo', jcgm101.standardUncertainty, published.u as number, 0.005)
      jcgm101.symmetric.forEach((end, i) => {
        f.near(`half width from end ${i + 1}`, Math.abs(end), half, 0.006)
        f.near(`end ${i + 1}, Monte Carlo`, end, at(published.interval_95_monte_carlo as Pair, i), 0.01)
        f.near(`end ${i + 1}`, at(jcgm100.interval, i), at(published.interval_95_gum as Pair, i), 0.005)
      })
      // Three digits tell the two intervals apart, d = 0.04 against 0.005.
      f.same('budget validated', comparison.validated, false)
    })
    check('9.2.3, adaptive: stops once every result is stable within the tolerance', (f) => {
      const { jcgm101 } = run({
        inputs: four('rectangular'),
        model: SUM,
        monteCarlo: { adaptive: true, digits: 2, seed: 7 },
      })
      f.same('stable', jcgm101.stable, true)
      f.same('tolerance', jcgm101.tolerance, 0.05)
      f.same('fewer than a million trials', jcgm101.trials < 1_000_000, true)
      jcgm101.symmetric.forEach((end, i) => {
        f.near(`end ${i + 1}`, Math.abs(end), 3.8794, 0.05)
      })
    })

    const mass = example('JCGM 101 9.3')
    const gum = mass.published.gum_first_order as Numbers & { interval_95_mg: Pair; validated: boolean }
    const higher = mass.published.gum_higher_order as Numbers & { interval_95_mg: Pair }
    const monteCarlo = mass.published.monte_carlo as Numbers & { shortest_interval_95_mg: Pair }
    const gumNumber = namedNumbers(gum)
    const higherNumber = namedNumbers(higher)
    const monteCarloNumber = namedNumbers(monteCarlo)
    check('9.3, mass calibration: budget of first and higher order, Monte Carlo, validation', (f) => {
      const { jcgm100, jcgm101, comparison } = run(massRequest(mass))
      const { computed } = mass
      f.decimals('δm', jcgm100.value, gumNumber('dm_mg'), 9, 'mg')
      f.decimals('u', jcgm100.combined, gumNumber('u_mg'), 4, 'mg')
      f.decimals('u, unrounded', jcgm100.combined, computed.u_first_order_mg as number, 7, 'mg')
      jcgm100.interval.forEach((end, i) => {
        f.near(`end ${i + 1}`, end, at(gum.interval_95_mg, i), 1e-4, 'mg')
      })
      const own = needed(jcgm100.higherOrder, 'uncertainty of higher order')
      f.decimals('u, higher order, unrounded', own.combined, computed.u_higher_order_mg as number, 6, 'mg')
      f.near('u, higher order', own.combined, higherNumber('u_mg'), 5e-5, 'mg')
      f.decimals('δm, higher order', jcgm100.value, higherNumber('dm_mg'), 9, 'mg')
      own.interval.forEach((end, i) => {
        f.near(`end ${i + 1}, higher order`, end, at(higher.interval_95_mg, i), 5e-4, 'mg')
      })
      f.decimals('δm, Monte Carlo, computed', jcgm101.value, computed.dm_mg as number, 3, 'mg')
      f.decimals('δm, Monte Carlo', jcgm101.value, monteCarloNumber('dm_mg'), 3, 'mg')
      f.near('u, Monte Carlo, computed', jcgm101.standardUncertainty, computed.u_mg as number, 3e-4, 'mg')
      f.near('u, Monte Carlo', jcgm101.standardUncertainty, monteCarloNumber('u_mg'), 3e-4, 'mg')
      jcgm101.symmetric.forEach((end, i) => {
        f.near(`end ${i + 1}, Monte Carlo`, end, at(computed.interval_95_mg as Pair, i), 1e-3, 'mg')
      })
      // The printed interval is one run, whose ends lie 0.001 below the exact ones; its length agrees.
      const [low, high] = monteCarlo.shortest_interval_95_mg
      f.near(
        'length of the shortest interval',
        jcgm101.shortest[1] - jcgm101.shortest[0],
        high - low,
        1e-3,
        'mg',
      )
      f.near('lower end of the shortest interval', jcgm101.shortest[0], low, 3e-3, 'mg')
      const comparedHigher = needed(comparison.higherOrder, 'comparison of higher order')
      f.same('budget validated', comparison.validated, gum.validated)
      f.near('d_low', comparison.dLow, gumNumber('d_low_mg'), 2e-3, 'mg')
      f.near('d_high', comparison.dHigh, gumNumber('d_high_mg'), 2e-3, 'mg')
      f.same('δ', comparison.delta, 0.0005, 'mg')
      f.near('d_low, higher order', comparedHigher.dLow, higherNumber('d_low_mg'), 2e-3, 'mg')
      f.near('d_high, higher order', comparedHigher.dHigh, higherNumber('d_high_mg'), 2e-3, 'mg')
      f.same('higher order validated', comparedHigher.validated, false)
    })

    check('9.4, comparison loss about zero: the first-order budget sees nothing', (f) => {
      const { jcgm100, jcgm101 } = loss(0)
      f.same('u, first order', jcgm100.combined, 0)
      f.decimals(
        'u, higher order',
        needed(jcgm100.higherOrder, 'uncertainty of higher order').combined,
        50e-6,
        15,
      )
      f.relative('mean', jcgm101.value, 50e-6, 5e-3)
      f.relative('u', jcgm101.standardUncertainty, 50e-6, 5e-3)
      f.near('lower end of the shortest interval', jcgm101.shortest[0], 0, 1e-9)
      f.relative('upper end of the shortest interval', jcgm101.shortest[1], -50e-6 * Math.log(0.05), 5e-3)
    })
    check('9.4, at 0.050: mean 2550e-6 and u = 502e-6', (f) => {
      const { jcgm100, jcgm101 } = loss(0.05)
      f.decimals('y', jcgm100.value, 2500e-6, 12)
      f.decimals('u, first order', jcgm100.combined, 500e-6, 12)
      f.near('mean', jcgm101.value * 1e6, 2550, 5, '10⁻⁶')
      // Var(x1^2) + Var(x2^2) = 4 x1^2 u^2 + 2 u^4 + 2 u^4
      const exact = Math.sqrt(4 * 0.05 ** 2 * 0.005 ** 2 + 4 * 0.005 ** 4)
      f.relative('u', jcgm101.standardUncertainty, exact, 5e-3)
      f.relative(
        'u, higher order',
        needed(jcgm100.higherOrder, 'uncertainty of higher order').combined,
        exact,
        0.5e-9,
      )
    })
    check('9.4, correlated, r = 0.9, about zero: u = 67e-6', (f) => {
      const { jcgm101 } = loss(0, [{ a: 'x1', b: 'x2', r: 0.9 }])
      // Var = 2 u^4 + 2 u^4 + 4 r^2 u^4
      const exact = 0.005 ** 2 * Math.sqrt(4 + 4 * 0.81)
      f.relative('mean', jcgm101.value, 50e-6, 5e-3)
      f.relative('u', jcgm101.standardUncertainty, exact, 5e-3)
      f.printed('u as printed', jcgm101.standardUncertainty * 1e6, 67, 0, '10⁻⁶')
    })
    check('9.5, gauge block: 838 nm, 36 nm and [745, 932] nm', (f) => {
      const { jcgm101 } = run(GAUGE_BLOCK)
      f.near('δL', jcgm101.value, 838, 0.2, 'nm')
      f.near('u', jcgm101.standardUncertainty, 36, 0.6, 'nm')
      f.near('lower end', jcgm101.shortest[0], 745, 2, 'nm')
      f.near('upper end', jcgm101.shortest[1], 932, 2, 'nm')
    })
  },
)
