/**
 * What the record of a session says, by code: the pattern in ICU form of which the sentence is made from its arguments. A
 * code once written stays: records name it. Only plain arguments, so that the compiler sees to it that each is given; they
 * come as text that the program's own formatter wrote, or as a message of their own.
 */
export const EVENT_MESSAGES = {
  'session-opened': 'Session opened by {who}.',
  'session-resumed': 'Session taken up again after {time} in which the station was not running.',
  'session-ended': 'Session ended: {ending}. {reason}',
  'signed-off': 'Signed off by {who}.',

  note: '{words}',
  'line-typed': '{who} typed to {instrument}: {line}',

  paused: 'Paused by {who}.',
  'paused-because': 'Paused by {who}: {why}.',
  resumed: 'Resumed by {who}.',
  'point-taken-now': '{who} takes the point now',
  'point-taken-now-because': '{who} takes the point now: {why}',
  'setpoint-skipped': '{setpoint}, skipped by {who}',
  'setpoint-skipped-because': '{setpoint}, skipped by {who}: {why}',
  stopped: 'Stopped by {who}',
  'stopped-because': 'Stopped by {who}: {why}',
  'to-safety': '{reason} Going to the safe setpoint.',
  'time-lost': 'Time was lost: the setpoint is confirmed and the window begins afresh.',
  'instruments-missing': '{words}',
  'instruments-identified': 'All instruments are identified.',
  'setpoints-through': 'Every setpoint has had its turn.',
  setpoint: 'Setpoint {n}, {celsius}',
  'setpoint-of': 'Setpoint {n} of {count}, {celsius}',
  'setting-bath': '{setpoint}: setting the bath.',
  'waiting-to-settle': '{setpoint}: waiting until settled.',
  'trying-again': '{fault} Trying again.',
  settled: 'Settled after {time}.',
  'not-settled': '{celsius} did not settle within {time} ({missing})',
  'late-skipped': '{late}: skipped, as the plan says.',
  'late-extended': '{late}: the wait is extended, as the plan says.',
  'late-taken': '{late}: taken and marked.',
  'point-anew': 'The point is taken anew: {doubts}.',
  'point-taken': '{setpoint}: point taken.',
  'point-taken-marked': '{setpoint}: point taken, marked: {doubts}.',
  'no-point': '{setpoint}: no point, {doubts}.',
  'wtp-follows': 'R(WTP) is checked after the setpoints.',
  'plan-ended': 'The plan has ended: {reason}',

  'bath-to': 'Bath to {celsius}: {why}.',
  'bath-to-safe': 'Bath to its safe setpoint, {celsius}: the plan is through.',
  'bath-by-hand': '{who} has set {bath} to {celsius} by hand.',
  'bath-put-back':
    "The controller''s setpoint was {found} in place of {celsius}: it was switched off and on, or set by hand. Put back.",

  'asked-to-end-recording':
    'The station was asked to end ({why}) while it recorded. The session stays open.{bath}',
  'asked-to-end':
    'The station was asked to end ({why}) while the plan was {phase}. The session stays open.{bath}',
  'no-bath-to-leave': '',
  'bath-left-safe': ' {bath} is set to its safe setpoint, {celsius}.',
  'bath-left-unconfirmed': ' {bath} did not confirm its safe setpoint of {celsius}: go and look.',
  'bath-left-at': ' {bath} stays at {celsius}, as the settings say.',
  'bath-left-untouched': ' {bath} was not touched.',
  'bath-left-by-hand': ' {bath} is set by hand and stays as it is.',

  gap: '{channel}: no valid reading for {time}: {cause}.',
  'readings-dropped':
    '{count} readings from {from} to {to} could not be kept: the session file could not be written, and {waiting} later ones were waiting already.',
  'clock-forward': "The computer''s clock was set forward by {time}, or the computer slept.",
  'clock-back': "The computer''s clock was set back by {time}, or the computer slept.",
  link: '{instrument}: {words}',
  alarm: '{words}',
  'alarm-seen': '{who} has seen: {words}',
  room: 'The room: {values}.',

  insulation: 'Insulation of {thermometer}: {shown}.',
  'places-changed': 'The thermometers have changed places.',
  lifted: 'The thermometers were lifted by {mm} mm.',
  'exchange-left-out': 'Setpoint {n}: the exchange of places was left out by {who}',
  'lift-left-out': 'Setpoint {n}: the lift of the thermometers was left out by {who}',

  'wtp-no-reference': 'No reference on this bench: R(WTP) is not checked.',
  'wtp-left-out-before': 'R(WTP) was not checked before the plan: left out by {who}',
  'wtp-left-out-after': 'R(WTP) was not checked after the plan: left out by {who}',
  'wtp-in-cell': '{who} has put {thermometer} into the water triple point cell.',
  'wtp-not-measured': 'R(WTP) of {thermometer} could not be measured',
  'wtp-alone': 'R(WTP) of {thermometer} is {ohm} ohm; nothing to compare it with.',
  'wtp-same':
    'R(WTP) of {thermometer} is {ohm} ohm, {distance} {against}, limit {limit} mK: it has not moved',
  'wtp-moved': 'R(WTP) of {thermometer} is {ohm} ohm, {distance} {against}, limit {limit} mK: it has moved',
  'mk-above': '{mk} mK above',
  'mk-below': '{mk} mK below',
  'the-one-before': 'the one before the plan',
  'the-register': 'the register',
  sentence: '{words}.',

  'left-out': '{who} left {what} out: {why}',
  'taken-back': '{who} took {what} back in: {why}',
  'point-of': '{channel} at point {point}',
  'point-whole': 'point {point}',
  'amended-out': 'Left {what} out: {why}',
  'amended-in': 'Took {what} back in: {why}',
  'amended-point': 'point {point}',
  'amended-point-channel': 'point {point}, channel {channel},',
  'amended-readings': 'readings {from} to {to} of {channel}',
  'records-of-now': '{who} took the records of now into this session ({names}): {why}',
} as const
