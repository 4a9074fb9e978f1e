/** Refusals of the checks of bridges, resistors and cells, by code. */
export const CHECKS_REFUSALS = {
  'resistor-without-start': 'Resistor {resistor} has no value to begin with.',
  'resistor-not-measured-alone': 'Measure resistor {name} alone as well: the search begins there.',
  'too-few-networks':
    "{readings} networks cannot give {count} resistors and {terms} terms of the bridge''s error; take at least {unknowns}.",
  'too-few-combinations':
    '{combinations} combinations of {resistors} resistors say nothing of the bridge; take at least {least}, more of them in series and in parallel.',
  'no-ratio': 'There is no ratio to find an error from. Give at least one.',
  'cells-of-different-points':
    'A cell of {fixedPoint} cannot be compared with one of {other}. Take two plateaus of one fixed point.',
  'water-plateau-missing':
    'Coefficients need a plateau at the water triple point and at least one other: W is a ratio of the two.',
  'cells-outside-section':
    'Section {section} reaches from {lowC} to {highC} °C; {outside} {lie} outside. {advice}',
  'no-reading-near-plateau':
    "No reading lies within {withinK} K of where this cell''s plateau is expected. Look at the cell and the channel named.",
  'two-plateaus':
    "The record holds still at two temperatures {amount} K apart, and which of them is the cell''s it does not say. Give the thermometer''s R(WTP), or the time of the plateau.",
  'plateau-too-few-readings': 'A plateau needs at least {least} readings; there are {readings}.',
  'no-stretch-long-enough':
    'No stretch of {leastMin} min stays within {amount} mK: the longest is {longestMin} min. Record longer, or hold the furnace nearer to the fixed point.',
  'stretch-too-few-readings':
    'A plateau needs at least {least} readings; between the two moments there are {readings}.',
  'calibration-not-in-force':
    '{better} has no calibration in force on {date}. Enter its certificate in the register.',
  'compared-with-itself': '{over} cannot be compared with itself.',
  'no-way-from-a-known-resistor':
    'No ratio leads from a known resistor to {loose}. Measure one, or give a value.',
  'too-few-resistor-temperatures':
    'Temperature coefficients need the resistor at two temperatures at least, three for the bend. Change the temperature of its enclosure by a few kelvin.',
  'times-and-resistances-not-paired': 'There are {times} times for {ohm} resistances; give one for each.',
  'no-such-cell': 'There is no cell "{cell}" in the register; {known}.',
  'cell-of-another-point':
    '{cell} is a cell of {fixedPoint}, not of {other}. Choose the cell the thermometer was in.',
  'word-is-no-fixed-point':
    '"{word}" is no fixed point. Write WTP, Ga, In, Sn, Zn and so on, in the order the thermometer goes.',
  'sequence-without-water':
    'A sequence begins and ends with the water triple point, with other cells between: WTP, Zn, WTP, Sn, WTP.',
  'next-time-before-the-work':
    'The next time, {due}, does not lie after the day of the work, {date}. Give a later day.',
  'check-corrects-nothing':
    'This check cannot correct ratios. {takenOut} Take them in as well, or record it as a check.',
  'bridge-without-limits':
    'The register states no linearity and resolution of {instrument}. Enter them first; a check is held against them.',
  'plateaus-make-its90-only': 'Plateaus make an ITS-90 calibration only.',
  'channel-makes-no-resistance':
    "The readings of {channel} make no resistance of a known thermometer. Look at the channel''s thermometer and reference resistor.",
} as const
