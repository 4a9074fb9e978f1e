/**
 * What the words of this program mean: the window shows this list, and docs/glossary.md is this list. `not` are words for
 * the same thing that neither window nor guide uses.
 */
export interface Term {
  readonly term: string
  readonly words: string
  /** As it is written in a formula. */
  readonly symbol?: string
  readonly unit?: string
  readonly not?: readonly string[]
}

export const GLOSSARY_PARTS = ['work', 'measuring', 'thermometers', 'numbers', 'records'] as const
export type GlossaryPart = (typeof GLOSSARY_PARTS)[number]

export const GLOSSARY_TITLES: Readonly<Record<GlossaryPart, string>> = {
  work: 'The work',
  measuring: 'Measuring',
  thermometers: 'Thermometers and instruments',
  numbers: 'Numbers and their uncertainty',
  records: 'Records and paper',
}

export const GLOSSARY: Readonly<Record<GlossaryPart, readonly Term[]>> = {
  work: [
    { term: 'Customer', words: 'Who sends thermometers to be calibrated.' },
    { term: 'Order', words: 'What one customer sends and asks for at one time.' },
    { term: 'Item', words: 'One thermometer of an order.' },
    { term: 'Job sheet', words: 'The one page that follows an order from receipt to delivery.' },
    {
      term: 'As found, as left',
      words: 'As found: measured as it came, before anything is adjusted. As left: as it goes back.',
    },
    {
      term: 'Session',
      words:
        'One continuous piece of recorded work, kept in one file. A session with a plan is called a night.',
    },
    { term: 'Look', words: 'Numbers of a bench outside any session; stored too, and deleted after a day.' },
    { term: 'Plan', words: 'Setpoints, the settling rule, and how a point is read.' },
    {
      term: 'Comparison',
      words:
        'Calibration against a reference thermometer in the same bath, at temperatures that need only be steady.',
    },
    {
      term: 'Sign-off',
      words:
        'A person answers for the results by name. From then on they are fixed; later changes are amendments.',
    },
  ],
  measuring: [
    { term: 'Station', words: 'This program on one computer: it measures, stores and judges.' },
    { term: 'Bench', words: 'The instruments, connections and channels set up at one place.' },
    {
      term: 'Channel',
      words:
        'One measured input: what hangs on it, through which scanner, at which instrument, and how it is read.',
    },
    { term: 'Link', words: 'The connection to one instrument: a serial port, or a host and its port.' },
    { term: 'Profile', words: 'A file that says how to talk to one make of instrument.' },
    { term: 'Reading', words: 'One value as the instrument sent it, with its time.' },
    { term: 'Mark', words: 'A note of the station at a reading or point; nothing is ever deleted.' },
    {
      term: 'Settling rule',
      words:
        'When a channel counts as settled: drift and standard deviation below their limits for the hold time.',
    },
    { term: 'Settled', words: 'The settling rule has held for its hold time.', not: ['stable enough'] },
    { term: 'Drift', words: 'Slope of a channel over the window of the rule.', unit: 'mK/min' },
    {
      term: 'Point',
      words:
        'What was taken once at one setpoint: means, drift, standard deviation and uncertainty of every channel.',
    },
    { term: 'Setpoint', words: 'The temperature that the bath is told to hold.', unit: '°C' },
    { term: 'Safe setpoint', words: 'Where the bath is sent when something is wrong.', unit: '°C' },
    {
      term: 'Interlock limits',
      words: 'Temperatures that no setpoint passes, on any path. They do not replace an independent cut-out.',
    },
    { term: 'Gap', words: 'A time without readings; it is marked, and nothing is made up for it.' },
    {
      term: 'Uniformity',
      words: 'How far the temperature differs between places in the bath; a part of most budgets.',
      unit: 'mK',
      not: ['homogeneity'],
    },
    {
      term: 'Stability',
      words: 'How far the temperature of the bath moves in the time of a point.',
      unit: 'mK',
    },
    { term: 'Survey', words: 'A dated measurement of a bath’s uniformity or stability.' },
  ],
  thermometers: [
    {
      term: 'Reference thermometer',
      words: 'Gives the temperature that the thermometers under test are compared with.',
    },
    { term: 'Thermometer under test', words: 'Is calibrated against the reference thermometer.' },
    { term: 'Check thermometer', words: 'Known well enough to show that the comparison is right.' },
    { term: 'SPRT', words: 'Standard platinum resistance thermometer, as ITS-90 asks for.' },
    { term: 'IPRT', words: 'Industrial platinum resistance thermometer, as in IEC 60751.' },
    {
      term: 'Ratio bridge',
      words: 'Reports the ratio of a thermometer’s resistance to that of the reference resistor.',
      symbol: 'n = Rx/Rs',
    },
    {
      term: 'Reference resistor',
      words: 'The known resistance of a ratio, its denominator.',
      symbol: 'Rs',
      unit: 'Ω',
    },
    { term: 'Scanner', words: 'Switches one of many inputs to a bridge or meter.' },
    {
      term: 'Water triple point',
      words: 'Fixed point of ITS-90 at 0.01 °C; the thermometer’s resistance there is written R(0.01 °C).',
      symbol: 'R(0.01 °C)',
      unit: 'Ω',
    },
    { term: 'Resistance ratio', words: 'R(T90)/R(0.01 °C), as in ITS-90.', symbol: 'W' },
    {
      term: 'Deviation function',
      words: 'What a thermometer’s W differs from the reference function by.',
      symbol: 'W − Wr',
    },
    {
      term: 'Subrange',
      words: 'Part of ITS-90 with its own fixed points and its own form of the deviation function.',
    },
    {
      term: 'Self-heating',
      words:
        'What the measuring current warms the thermometer by; extrapolated to zero current from two currents.',
      unit: 'mK',
    },
    { term: 'Immersion', words: 'Depth of the sensor below the surface of the bath.', unit: 'mm' },
    {
      term: 'Reference junction',
      words: 'The end of a thermocouple whose temperature must be known.',
      not: ['cold junction'],
    },
    { term: 'Supercooled', words: 'Liquid below its freezing temperature.', not: ['undercooled'] },
  ],
  numbers: [
    {
      term: 'Standard deviation',
      words: 'Scatter of single readings about their mean.',
      symbol: 's',
    },
    {
      term: 'Standard deviation of the mean',
      words: 'Uncertainty of a mean from its scatter, readings that resemble each other counted for fewer.',
      symbol: 's/√n',
      not: ['standard error'],
    },
    {
      term: 'Effective number',
      words: 'How many independent readings a stretch of readings is worth.',
      symbol: 'n',
    },
    { term: 'Standard uncertainty', words: 'Uncertainty as one standard deviation (JCGM 100).', symbol: 'u' },
    {
      term: 'Expanded uncertainty',
      words: 'Standard uncertainty times the coverage factor: about 95 % of results lie within.',
      symbol: 'U = k u',
    },
    {
      term: 'Coverage factor',
      words: 'What the standard uncertainty is multiplied by; near 2.',
      symbol: 'k',
    },
    {
      term: 'Effective degrees of freedom',
      words: 'How well an uncertainty is itself known; few make the coverage factor larger.',
      symbol: 'ν',
    },
    { term: 'Uncertainty budget', words: 'Every part of an uncertainty with its size and where it is from.' },
    {
      term: 'Covariance',
      words:
        'How far two coefficients of a fit are uncertain together. Correlation is the same without unit, −1 to 1.',
    },
    {
      term: 'ppm',
      words: 'Parts in a million of the value itself: 0.4 ppm of 100 Ω is 40 µΩ.',
      unit: '10⁻⁶',
    },
    { term: 'Correction', words: 'What is added to the indicated value to get the true one.' },
    { term: 'Residual', words: 'Measured value minus what the fit gives there.' },
    { term: 'Hysteresis', words: 'Difference between the way up and the way down at the same temperature.' },
    {
      term: 'Decision rule',
      words: 'How the uncertainty enters a statement of conformity, agreed with the customer (ILAC G8).',
    },
    { term: 'Guard band', words: 'What a limit is tightened by, so that little is accepted wrongly.' },
    {
      term: 'Control limits',
      words: 'Warning limit and action limit of a chart of checks.',
      not: ['look limit', 'act limit'],
    },
  ],
  records: [
    {
      term: 'Register',
      words:
        'The lasting records: thermometers, resistors, instruments, cells, fluids, with their dated calibrations.',
    },
    { term: 'Valid from', words: 'First day on which a calibration is used.', not: ['holds from'] },
    { term: 'Recalibration due', words: 'Day after which a calibration wants renewing.', not: ['due again'] },
    {
      term: 'Ledger',
      words:
        'The list of what was changed or decided, when, why and by whom; each line guards the one before.',
    },
    { term: 'Certificate', words: 'What the customer of one item gets.' },
    { term: 'Calibration record', words: 'Everything that the laboratory keeps of one session.' },
    { term: 'Amendment', words: 'A change after sign-off, which names what it changes and why.' },
    {
      term: 'Replay',
      words: 'A stored session computed again, with the old coefficients or with corrected ones.',
    },
    {
      term: 'Traceability',
      words: 'The chain of calibrations, each with its uncertainty, from a result to the SI.',
    },
    { term: 'Person', words: 'Somebody with a name, a password and rights at this station.' },
    {
      term: 'Lab in a box',
      words: 'A simulated bath with simulated instruments, which answer as real ones do.',
    },
  ],
}

/** The list as a page of the guide. */
export function glossaryPage(): string {
  const line = ({ term, words, symbol, unit }: Term) =>
    `| ${term} | ${[symbol, unit].filter(Boolean).join('; ')} | ${words} |`
  const part = (id: GlossaryPart) => [
    `## ${GLOSSARY_TITLES[id]}`,
    '',
    '| term | symbol, unit | meaning |',
    '|---|---|---|',
    ...GLOSSARY[id].map(line),
    '',
  ]
  return [
    '# Glossary',
    '',
    'The words of the window, the guide and the reports; the window shows this list by *Commands*, *Glossary*.',
    '',
    ...GLOSSARY_PARTS.flatMap(part),
  ].join('\n')
}
