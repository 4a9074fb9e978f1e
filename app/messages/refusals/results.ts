/** Refusals of results, budgets, the chain and reports, by code. */
export const RESULTS_REFUSALS = {
  'channel-resistor-not-calibrated':
    'Channel {channel} is measured against resistor {id}, which has no calibration in force on {date}. Enter its certificate in the register.',
  'budget-template-wrong': 'The budget template is not right at {where}: {said}.',
  'channel-thermometer-unknown':
    'Channel {channel} names the thermometer {thermometer}, which is not in the register. Choose one that is, or enter it.',
  'channel-resistor-unknown':
    'Channel {channel} names the reference resistor {id}, which is not in the register. Choose one that is, or enter it.',
  'resistor-not-calibrated':
    'The reference resistor {entry} has no calibration in force on {date}. Enter its certificate in the register.',
  'channels-in-a-circle':
    'Channel {start} is measured against {next}, which in the end is measured against it. Give one of them a reference resistor or a reference junction of its own.',
  'channel-against-no-channel':
    'Channel {start} is measured against {next}, which is not a channel of this bench.',
  'reference-not-calibrated':
    'The reference thermometer {thermometer} has no calibration in force on {date}. Enter its certificate in the register.',
  'no-reference-channel':
    'No enabled channel of this session has the role of the reference thermometer, so there is nothing to compare with.',
  'no-such-key': 'The report has no number under the key {key}.',
  'channel-not-under-test': 'No thermometer under test was on channel {channel} in this session.',
  'thermometer-without-fit': 'This thermometer has no fit.',
  'no-calibration-of-plateaus':
    '{thermometer} has no calibration that was made of plateaus here. Record its fixed points first.',
  'no-calibration-of-plateaus-under':
    '{thermometer} has no calibration that was made of plateaus here under "{entry}". Record its fixed points first.',
  'no-resistor-in-register': 'There is no resistor "{resistor}" in the register.',
  'no-comparison-of-its-own': '{resistor} has no comparison of its own yet. Record one first.',
  'nothing-to-sign':
    'There is no result to sign: no thermometer under test has points from which coefficients could be found.',
  'nothing-to-sign-because':
    'There is no result to sign: no thermometer under test has points from which coefficients could be found. {why}',
} as const
