export const SEVERITIES = ['notice', 'warning', 'alarm'] as const
export type Severity = (typeof SEVERITIES)[number]

/**
 * How grave something that happened is, by what it says of itself and by its rule: as its rule has it; as its rule has it
 * where it is an alarm of its own, and no more than the rule otherwise; or as the rule has it where it is only a notice of
 * its own, and no less than that otherwise.
 */
export type Gravity = 'as-ruled' | 'at-most' | 'at-least'

/** One kind of alarm: what a rule of it may say, when it is looked at, and what to do when it speaks. */
interface AnyRow {
  readonly name: string
  /** Words before the limits that a rule of it may have. */
  readonly above?: string
  readonly below?: string
  /** Quantity that its limits are given in. */
  readonly unit: '' | '°C' | 'mK/min' | 's' | 'bytes' | 'days'
  /** What the station takes where no limit is given, in that unit. */
  readonly usual?: number
  /** Severity of a new rule. */
  readonly severity: Severity
  /** A rule of it stands before anyone has set some, with these limits. */
  readonly standing?: { readonly above?: number; readonly below?: number; readonly hysteresis?: number }
  /** Told also where nobody has made a rule of this kind; only a rule that is switched off silences it. */
  readonly unasked?: true
  /** What a person does about it. */
  readonly todo: string
}

/** `look`: looked at every few seconds, while the thing is there. `event`: told when it happens, as grave as is said here. */
export type AlarmRow = AnyRow &
  (
    | { readonly when: 'look'; readonly gravity?: undefined }
    | { readonly when: 'event'; readonly gravity: Gravity }
  )

/** Every kind of alarm. The station has an evaluator for each of them, or does not compile. */
export const ALARM_TABLE = {
  value: {
    name: 'A value leaves its limits',
    above: 'Above',
    below: 'Below',
    unit: '°C',
    when: 'look',
    severity: 'warning',
    todo: 'Look at the bath and at the thermometer: one of them is not where it should be.',
  },
  drift: {
    name: 'A drift is too fast',
    above: 'Above',
    unit: 'mK/min',
    when: 'look',
    severity: 'warning',
    todo: 'Wait for the bath, or look for what warms or cools it.',
  },
  silence: {
    name: 'A channel is silent',
    above: 'Longer than',
    unit: 's',
    when: 'look',
    severity: 'warning',
    standing: { above: 180 },
    todo: 'Look at the wire of this channel and at the instrument that reads it.',
  },
  gap: {
    name: 'Readings have a gap',
    above: 'Longer than',
    unit: 's',
    usual: 0,
    when: 'event',
    severity: 'notice',
    standing: {},
    gravity: 'as-ruled',
    todo: 'Read in the session what the gap was; points taken meanwhile carry its mark.',
  },
  disk: {
    name: 'The disk runs full',
    below: 'Less free than',
    unit: 'bytes',
    when: 'look',
    severity: 'warning',
    standing: { below: 1e9, hysteresis: 1e8 },
    todo: 'Make room on the disk of the data folder; readings wait in memory until there is some.',
  },
  'calibration-due': {
    name: 'A calibration ends soon',
    above: 'Within',
    unit: 'days',
    usual: 30,
    when: 'look',
    severity: 'notice',
    standing: { above: 30 },
    todo: 'Plan the calibration, or take the record out of use in the Register.',
  },
  'plan-end': {
    name: 'The plan has ended',
    unit: '',
    when: 'event',
    severity: 'notice',
    standing: {},
    // A plan that ended otherwise than it should is worth a warning at least.
    gravity: 'at-least',
    todo: 'Look at the points, and sign the report.',
  },
  bath: {
    name: 'The bath says something is wrong',
    unit: '',
    when: 'event',
    severity: 'alarm',
    standing: {},
    // What is graver than a remark is as grave as the rule says.
    gravity: 'at-most',
    todo: 'Go to the bath. This program is not a safety device: an independent cut-out belongs on it.',
  },
  'computer-ends': {
    name: 'The computer shuts down in a session',
    unit: '',
    when: 'event',
    severity: 'alarm',
    unasked: true,
    standing: {},
    gravity: 'as-ruled',
    todo: 'Look after the bath until the computer runs again: the session is taken up at the next start.',
  },
  link: {
    name: 'A link is lost',
    above: 'Longer than',
    unit: 's',
    usual: 60,
    when: 'look',
    severity: 'warning',
    standing: { above: 60 },
    todo: 'Look at cable, power and address of the instrument.',
  },
} as const satisfies Record<string, AlarmRow>
export type AlarmKind = keyof typeof ALARM_TABLE
export const ALARM_KINDS = Object.keys(ALARM_TABLE) as AlarmKind[]

/** Kinds that are looked at every few seconds. */
export type LookKind = {
  [K in AlarmKind]: (typeof ALARM_TABLE)[K]['when'] extends 'look' ? K : never
}[AlarmKind]
