import type { AlarmRules } from './settings.ts'

type Rule = AlarmRules['rules'][number]
export type AlarmKind = Rule['kind']

/** One kind of alarm: what a rule of it may say, when it is looked at, and what to do when it speaks. */
export interface AlarmRow {
  readonly name: string
  /** Words before the limits that a rule of it may have. */
  readonly above?: string
  readonly below?: string
  /** Quantity that its limits are given in. */
  readonly unit: '' | '°C' | 'mK/min' | 's' | 'bytes' | 'days'
  /** What the station takes where no limit is given, in that unit. */
  readonly usual?: number
  /** `look`: every few seconds, while the thing is there. `event`: when it happens. */
  readonly when: 'look' | 'event'
  /** Severity of a new rule. */
  readonly severity: Rule['severity']
  /** Told also where nobody has made a rule of this kind; only a rule that is switched off silences it. */
  readonly unasked?: true
  /** What a person does about it. */
  readonly todo: string
}

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
    todo: 'Look at the wire of this channel and at the instrument that reads it.',
  },
  gap: {
    name: 'Readings have a gap',
    above: 'Longer than',
    unit: 's',
    usual: 0,
    when: 'event',
    severity: 'notice',
    todo: 'Read in the session what the gap was; points taken meanwhile carry its mark.',
  },
  disk: {
    name: 'The disk runs full',
    below: 'Less free than',
    unit: 'bytes',
    when: 'look',
    severity: 'warning',
    todo: 'Make room on the disk of the data folder; readings wait in memory until there is some.',
  },
  'calibration-due': {
    name: 'A calibration ends soon',
    above: 'Within',
    unit: 'days',
    usual: 30,
    when: 'look',
    severity: 'notice',
    todo: 'Plan the calibration, or take the record out of use in the Register.',
  },
  'plan-end': {
    name: 'The plan has ended',
    unit: '',
    when: 'event',
    severity: 'notice',
    todo: 'Look at the points, and sign the report.',
  },
  bath: {
    name: 'The bath says something is wrong',
    unit: '',
    when: 'event',
    severity: 'alarm',
    todo: 'Go to the bath. This program is not a safety device: an independent cut-out belongs on it.',
  },
  'computer-ends': {
    name: 'The computer shuts down in a session',
    unit: '',
    when: 'event',
    severity: 'alarm',
    unasked: true,
    todo: 'Look after the bath until the computer runs again: the session is taken up at the next start.',
  },
  link: {
    name: 'A link is lost',
    above: 'Longer than',
    unit: 's',
    usual: 60,
    when: 'look',
    severity: 'warning',
    todo: 'Look at cable, power and address of the instrument.',
  },
} as const satisfies Record<AlarmKind, AlarmRow>

/** Kinds that are looked at every few seconds, and those that are told when they happen. */
export type LookKind = {
  [K in AlarmKind]: (typeof ALARM_TABLE)[K]['when'] extends 'look' ? K : never
}[AlarmKind]
export type EventKind = Exclude<AlarmKind, LookKind>
