export type Numbers = Record<string, number>

const DIFFERENCE = [
  ['d0', 'd repeated observations'],
  ['d1', 'd random effects of comparator'],
  ['d2', 'd systematic effects of comparator'],
] as const

/** The measured difference of JCGM 100:2008, H.1: the mean of the readings, and the comparator's random and systematic effects. */
export const gaugeBlockDifference = (given: (name: string) => Numbers) => ({
  inputs: DIFFERENCE.map(([name, long]) => ({
    name,
    value: given(long).value_nm,
    standardUncertainty: given(long).u_nm,
    degreesOfFreedom: given(long).dof,
  })),
  model: 'd0 + d1 + d2',
  monteCarlo: false,
})

/** JCGM 100:2008, H.1, as a request of `stillpoint budget`. */
export const gaugeBlockRequest = (given: (name: string) => Numbers) => ({
  inputs: [
    {
      name: 'ls',
      value: given('ls').value_nm,
      standardUncertainty: given('ls').u_nm,
      degreesOfFreedom: given('ls').dof,
    },
    ...gaugeBlockDifference(given).inputs,
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
})
