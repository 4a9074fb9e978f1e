/** What each kind of check asks of a person at the bench, in order, with what may hurt, and what follows from recording it. */

export const CHECK_PAGES = [
  {
    id: 'fixed-points',
    name: 'Cells and coefficients',
    about: 'Plateaus of fixed-point cells, ITS-90 coefficients',
  },
  { id: 'interchange', name: 'Bridge, interchanged', about: 'Two resistors both ways round: n and 1/n' },
  { id: 'networks', name: 'Bridge, in combinations', about: 'A few resistors in series and in parallel' },
  { id: 'ratios', name: 'Bridge, known ratios', about: 'Resistors whose certificates give the ratio' },
  { id: 'resistor', name: 'Reference resistor', about: 'Once a year against a better one' },
  { id: 'wtp', name: 'R(WTP) from a session', about: 'Measured before and after a comparison' },
] as const
export type CheckPage = (typeof CHECK_PAGES)[number]['id']

export interface GuideText {
  steps: readonly string[]
  cautions: readonly string[]
  follows: readonly string[]
}

const LOCAL =
  'The rules of your place and licensed practice come before anything said here. This program is no safety device.'

const BRIDGE_FOLLOWS = [
  'The instrument gets a dated check. Its chart in the register shows it beside the earlier ones.',
  'Budgets of sessions from that day on take the larger of the linearity that the instrument’s entry states and the one this check found. A check may widen a budget; it never narrows what a certificate states.',
]

export const GUIDES: Record<CheckPage, GuideText> = {
  'fixed-points': {
    steps: [
      'Begin and end with the water triple point: W is a ratio to it. Make the mantle, let it rest, and see that it turns freely.',
      'Put the thermometer in slowly, so that it does not shock the cell, and note how deep the middle of its element stands below the surface.',
      'Record without a plan, with the button below. Two channels on the same thermometer, one at √2 times the current, give the self-heating on the plateau itself.',
      'Let the furnace melt the cell a few kelvins above the point. Then cool until the metal is supercooled and springs back, set the furnace a little below, and let it freeze.',
      'Stop the record when the plateau is over, choose it here, and put it into the set. One cell after the other, hottest first, with the water triple point in between.',
    ],
    cautions: [
      'Furnaces burn and set alight what touches them: insulated gloves, a face shield, a place to lay a hot thermometer down, an independent cut-out.',
      'Cells are glass, quartz or graphite under vacuum or gas: they break, and some hold toxic metal (mercury, cadmium). Have the spill kit of your place at hand.',
      'Quartz that comes out above 500 °C must cool slowly; a mantle made with solid carbon dioxide or liquid nitrogen freezes skin and displaces air.',
      LOCAL,
    ],
    follows: [
      'The thermometer gets a calibration of the day you say, with coefficients, their uncertainty over the range, and an R(WTP) of that day. Earlier calibrations stay.',
      'Sessions from that day on use it. Sessions already recorded keep what they were made with.',
    ],
  },
  interchange: {
    steps: [
      'Take two good resistors a and b, both in their enclosures for a day. The bridge must reach both ratios: 25 Ω and 100 Ω give 0.25 and 4.',
      'Measure n with a at the terminals of the unknown and b at those of the reference.',
      'Interchange them, leads and all, and measure n′ at the same currents through the same resistors where the bridge allows it.',
      'Take twenty readings or more of each. The product n n′ is 1 for a bridge without error, whatever the resistors are.',
    ],
    cautions: [
      'Switch the current off before terminals are opened. Resistors in oil: dry your hands, and keep the oil off connectors.',
      LOCAL,
    ],
    follows: [
      ...BRIDGE_FOLLOWS,
      'An error that is equal and opposite at n and at 1/n does not show here: combinations of resistors see it.',
    ],
  },
  networks: {
    steps: [
      'Take two to four resistors whose values differ, and clamp them so that any can be joined in series or in parallel by four-terminal links.',
      'Measure each alone against the bridge’s reference, then every pair and set of them in series and in parallel.',
      'The more combinations, the more equations: three resistors give eleven ratios for three values and the errors of the bridge.',
      'Hold the temperature still meanwhile: a drift of a resistor looks like an error of the bridge.',
    ],
    cautions: [
      'Keep the current below what each resistor bears: in parallel it divides, in series it does not. Switch it off before links are changed.',
      LOCAL,
    ],
    follows: [
      ...BRIDGE_FOLLOWS,
      'An error in proportion to the ratio itself does not show here: interchange and known ratios see it.',
    ],
  },
  ratios: {
    steps: [
      'Take resistors whose certificates are younger than the bridge’s last check, and work out the ratio of each pair at the temperature of their enclosures.',
      'Measure each ratio as the bridge shows it, twenty readings or more.',
      'Measure the zero too: a four-terminal zero (or the same potential leads on both sides) in place of the resistor; 0 is its known ratio, with u 0.',
      'This is the only check that sees an error in proportion to the ratio: its uncertainty is that of the certificates.',
    ],
    cautions: ['Switch the current off before terminals are opened.', LOCAL],
    follows: BRIDGE_FOLLOWS,
  },
  resistor: {
    steps: [
      'Let both resistors rest in their enclosures for a day, and read the temperature of each.',
      'Measure the ratio of the working resistor to the better one: twenty readings or more, at the current of daily work.',
      'Repeat at a second current: a ratio that changes says that one of them is heated too much.',
      'Compare once a year, and after every knock or journey.',
    ],
    cautions: [
      'Keep the current below what each resistor bears. Oil enclosures drip: keep them upright.',
      LOCAL,
    ],
    follows: [
      'The resistor gets a dated comparison with value and difference, and its chart shows it.',
      'Taken as a calibration, sessions from that day on use the new value and the drift found from its history. Otherwise the calibration in force stays.',
    ],
  },
  wtp: {
    steps: [
      'Run a plan whose water triple point check is on: it asks for the cell before the first setpoint and after the last.',
      'Choose that session here and look at before and after. A change beyond its uncertainty says that the thermometer has moved meanwhile.',
      'Take it into the register when the session has ended.',
    ],
    cautions: [
      'Cells are glass and under vacuum: hold them with both hands, and keep the ice away from the neck. Dry a thermometer that comes out of oil before it goes into the cell.',
      LOCAL,
    ],
    follows: [
      'The thermometer’s history gets R(0.01 °C) of that day; ITS-90 calibrations use it from then on.',
      'The chart of R(WTP) over the sessions shows it, and warns when it leaves its limits.',
    ],
  },
}
