/** What alarms say, and why a bath is brought to its safe setpoint, by code. */
export const ALARM_MESSAGES = {
  'value-past-limit': '{channel} reads {value}, limit {limit}.',
  'drift-past-limit': '{channel} drifts by {drift} mK/min, limit {limit}.',
  'channel-silent': '{channel} has given no usable reading for {time}.',
  'disk-low': 'The disk has {free} GB free, limit {limit}. Make room.',
  'disk-reserve-used': '{fault} What was set aside for this is in use: make room now.',
  'disk-nearly-full':
    'The disk is nearly full: the station writes into the room it had set aside. Make room now.',
  'link-away': '{instrument} has not been reached for {time}: {why}',
  'recalibration-in-use': 'Recalibration of {record}, which this session measures with: {when} ({date}).',
  'left-open-lost': 'Session {session} was left open and cannot be taken up: {why}',
  'waits-by-hand': 'The plan waits for {bath} to be set to {celsius} by hand.',
  'bring-by-hand': 'Bring {bath} to {celsius} by hand.',
  'plan-cannot-go-on': 'The plan cannot go on: {why}',
  'plan-has-ended': 'The plan has ended: {ending}. {reason}',
  'computer-ends': 'The computer is being shut down or restarted while session {session} runs.{bath}',
  'computer-ends-bath-nothing': '',
  'computer-ends-bath-safe': ' {bath} is sent to its safe setpoint of {celsius}.',
  'computer-ends-bath-stays':
    ' {bath} stays at {celsius} and nobody looks after it until the computer runs again.',
  'recalled-in-use': '{words} This session measures with it: decide whether it goes on.',
  'backup-behind': 'The backup could not be brought up to date: {first} It is tried again every ten minutes.',
  'backup-behind-often':
    'The backup could not be brought up to date: {first} So it was {failed} times. It is tried again every ten minutes.',

  'setpoint-not-taken': 'The bath did not take the setpoint {celsius}: {why}',
  'bath-sensor': "The bath''s controller has no temperature: its sensor is broken.",
  'bath-over': 'The bath reads {celsius}, above its limit of {limit}.',
  'bath-runaway': 'The bath reads {celsius}, {off} K away from its setpoint and not on its way.',
  'bath-silent': 'The bath has not told its temperature for {time}.',
  'bath-setpoint-changes': 'The setpoint keeps changing to {celsius} by itself or by hand.',
  'reference-silent': 'The reference has given no usable reading for {time}.',
  'reference-over': 'The reference reads {celsius}, above the limit of {limit}.',
} as const
