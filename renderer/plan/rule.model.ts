import { duration } from '../../app/base/times.ts'
import { fixed, KELVIN_UNITS, readNumber, SECOND_UNITS } from '../text/numbers.ts'

/** The settling rule as it is typed, and the presets that stand for it. */

export type RuleField = 'windowS' | 'driftMkPerMin' | 'spreadMk' | 'bandK' | 'holdS'

const MK_UNITS = { mK: 1, K: 1000 }

export const RULE_FIELDS: Record<
  RuleField,
  { name: string; unit: string; units: Record<string, number>; about: string }
> = {
  windowS: {
    name: 'Window',
    unit: 's',
    units: SECOND_UNITS,
    about: 'Readings of this long are looked at together.',
  },
  driftMkPerMin: {
    name: 'Drift at most',
    unit: 'mK/min',
    units: { 'mK/min': 1, 'K/min': 1000 },
    about: 'Upper confidence bound of the drift rate.',
  },
  spreadMk: {
    name: 'Standard deviation at most',
    unit: 'mK',
    units: MK_UNITS,
    about: 'Of the readings in the window.',
  },
  bandK: {
    name: 'Within',
    unit: 'K',
    units: KELVIN_UNITS,
    about: 'The mean lies this near to the setpoint.',
  },
  holdS: { name: 'Held for', unit: 's', units: SECOND_UNITS, about: 'All of the above stay true this long.' },
}

export interface Preset {
  id: string
  name: string
  about: string
  rule: Record<RuleField, number>
}

/** What settled may mean; each says what it is good for. Common practice, no source. */
export const PRESETS: readonly Preset[] = [
  {
    id: 'quick',
    name: 'Quick look',
    about: 'To see that everything works. A few millikelvin of drift pass; a point takes minutes.',
    rule: { windowS: 240, driftMkPerMin: 5, spreadMk: 5, bandK: 0.5, holdS: 60 },
  },
  {
    id: 'working',
    name: 'Working',
    about: 'For industrial thermometers to about 10 mK. The bath rests five minutes before a point counts.',
    rule: { windowS: 300, driftMkPerMin: 1, spreadMk: 2, bandK: 0.2, holdS: 300 },
  },
  {
    id: 'careful',
    name: 'Careful',
    about:
      'For standards to about 2 mK. Long windows see small drifts; allow most of an hour for each setpoint.',
    rule: { windowS: 600, driftMkPerMin: 0.2, spreadMk: 1, bandK: 0.1, holdS: 900 },
  },
]

export type RuleTexts = Record<RuleField, string>

export const textsOf = (rule: Record<RuleField, number>): Record<RuleField, string> =>
  Object.fromEntries(
    Object.keys(RULE_FIELDS).map((name) => [name, String(rule[name as RuleField])]),
  ) as Record<RuleField, string>

/** The preset whose numbers the rule has, if any. */
export function presetOf(rule: RuleTexts): string | undefined {
  return PRESETS.find((preset) =>
    (Object.keys(RULE_FIELDS) as RuleField[]).every(
      (f) => readNumber(rule[f], RULE_FIELDS[f].units) === preset.rule[f],
    ),
  )?.id
}

/** A number as it was meant: three digits at most, and no zeros behind. */
function brief(value: number): string {
  const [, decimals = ''] = String(Number(value.toPrecision(3))).split('.')
  return fixed(value, decimals.length)
}

/** 'Drift below 1 mK/min and standard deviation below 2 mK over 5 min, within 0.2 K of the setpoint, held for 5 min.' */
export function ruleWords(rule: Record<RuleField, number>): string {
  return `Drift below ${brief(rule.driftMkPerMin)} mK/min and standard deviation below ${brief(rule.spreadMk)} mK over ${duration(rule.windowS)}, within ${brief(rule.bandK)} K of the setpoint, held for ${duration(rule.holdS)}.`
}

/** The rule as numbers; undefined while one of them is not one. */
export function readRule(rule: RuleTexts): Record<RuleField, number> | undefined {
  const read = Object.fromEntries(
    (Object.keys(RULE_FIELDS) as RuleField[]).map((f) => [f, readNumber(rule[f], RULE_FIELDS[f].units)]),
  )
  return Object.values(read).includes(undefined) ? undefined : (read as Record<RuleField, number>)
}
