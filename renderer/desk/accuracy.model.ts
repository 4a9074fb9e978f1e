import { MeterAccuracy } from '../../app/records/register.ts'
import { readNumber } from '../text/numbers.ts'

/** How a line of a meter's accuracy is written, for who types one. */
export const ACCURACY_ABOUT =
  'One range in each line: V or ohm, top of the range, ppm of reading, ppm of range; where stated also ppm of reading per kelvin and by how many kelvins the room may differ; then a semicolon and where it stands. Such as V 0.1 30 8 2 3; data sheet, 1 year.'

/** A meter's accuracy as lines of text. */
export const accuracyText = (accuracy: readonly MeterAccuracy[] | undefined): string =>
  (accuracy ?? [])
    .map((a) => {
      const room = a.perKelvinPpm > 0 || a.withinK > 0 ? ` ${a.perKelvinPpm} ${a.withinK}` : ''
      return `${a.quantity} ${a.range} ${a.readingPpm} ${a.rangePpm}${room}; ${a.source}`
    })
    .join('\n')

const QUANTITIES: Readonly<Record<string, MeterAccuracy['quantity']>> = { v: 'V', ohm: 'ohm', ω: 'ohm' }

/** What the lines say, or what is wrong with the first that cannot be read. */
export function readAccuracy(text: string): { accuracy: MeterAccuracy[] } | { problem: string } {
  const accuracy: MeterAccuracy[] = []
  for (const line of text.split('\n').map((l) => l.trim())) {
    if (line === '') continue
    const wrong = (words: string) => ({ problem: `“${line}”: ${words}` })
    const [figures = '', ...where] = line.split(';')
    const source = where.join(';').trim()
    const [quantity = '', ...words] = figures.trim().split(/\s+/)
    const known = QUANTITIES[quantity.toLowerCase()]
    if (!known) return wrong('begin with V or ohm.')
    const numbers = words.map((w) => readNumber(w))
    if (numbers.includes(undefined) || (numbers.length !== 3 && numbers.length !== 5))
      return wrong('after the quantity three numbers, or five with the temperature coefficient.')
    if (source === '') return wrong('say after a semicolon where these figures stand.')
    const [range, readingPpm, rangePpm, perKelvinPpm = 0, withinK = 0] = numbers
    const parsed = MeterAccuracy.safeParse({
      ...{ quantity: known, range, readingPpm, rangePpm, perKelvinPpm, withinK, source },
    })
    if (!parsed.success)
      return wrong('a range is above 0, and no part of an accuracy is negative: give its size.')
    accuracy.push(parsed.data)
  }
  return { accuracy }
}
