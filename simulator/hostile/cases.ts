/** What a hostile laboratory does that its station is not told, by name. 'none': the quiet bath. */
export const HOSTILE_CASES = {
  none: 'everything is as the station is told',
  'gradient-larger': 'places differ by three to five times what the bench states',
  'gradient-with-temperature': 'the difference of two places grows with temperature',
  'gradient-turning': 'the difference of two places turns with time',
  'bath-drift': 'the bath drifts steadily',
  'stem-conduction': 'heat runs along the stems to the room',
  hysteresis: 'thermometers under test read otherwise on the way down',
  'leak-item': 'the insulation of the thermometers under test leaks',
  'leak-reference': 'the insulation of the reference leaks',
  'reference-jump': 'the reference jumps within the night',
  'reference-drifted': 'the reference has drifted since its certificate',
  'self-heating': 'self-heating is three to six times the stated one',
  'resistor-temperature': 'the reference resistors stand at another temperature',
  'meter-error': 'the meter is outside its accuracy, in gain and in offset',
  junction: 'the reference junction is not at 0 °C',
  'current-ratio': 'the higher current of a pair is not √2 of the lower one',
  flicker: 'readings wander with 1/f noise',
  'mains-pick-up': 'mains hum beats with the readings',
  'references-disagree': 'a second reference is out by more than its certificate states',
} as const
export type HostileCase = keyof typeof HOSTILE_CASES
export const HOSTILE_CASE_NAMES = Object.keys(HOSTILE_CASES) as [HostileCase, ...HostileCase[]]
