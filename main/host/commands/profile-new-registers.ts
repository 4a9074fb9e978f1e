import type { RegistersDraft, RegisterText } from '../../../drivers/index.ts'
import type { Interview } from '../interview.ts'

const TYPES = [
  ['whole number of one register, 0 to 65535', 'uint16'],
  ['whole number of one register with sign', 'int16'],
  ['whole number of two registers, without sign', 'uint32'],
  ['whole number of two registers with sign', 'int32'],
  ['floating point number of two registers (IEEE 754 single)', 'float32'],
  ['floating point number of four registers (IEEE 754 double)', 'float64'],
] as const

/** One register: where it is and how its number is written there. */
export async function askRegister(talk: Interview, what: string, settable = false): Promise<RegisterText> {
  talk.tell(`The register of ${what}:`)
  const table = settable
    ? ('holding' as const)
    : await talk.choose('Which table is it in', [
        ['input registers (30001 and up in many manuals)', 'input'],
        ['holding registers (40001 and up in many manuals)', 'holding'],
      ] as const)
  const address = await talk.number('Its address as it goes over the line: 0 for 30001 or 40001', {
    low: 0,
    high: 65_535,
    whole: true,
  })
  const type = await talk.choose('What stands in it', TYPES)
  const words =
    type === 'uint16' || type === 'int16'
      ? {}
      : {
          words: await talk.choose('Which of its registers comes first', [
            ['the one with the higher part', 'high-first'],
            ['the one with the lower part', 'low-first'],
          ] as const),
        }
  const power = type.startsWith('float')
    ? 0
    : await talk.number(
        'The value is this number times ten to the power of (25.03 kept as 2503: -2)',
        { low: -9, high: 9, whole: true },
        '0',
      )
  return { table, address, type, ...words, ...(power !== 0 && { power }) }
}

/** The identity of a device that has no name to ask for. */
export async function askType(talk: Interview): Promise<RegistersDraft['identity']> {
  const register = await askRegister(talk, 'something that never changes, such as its type or version')
  const value = await talk.number('What number does it hold')
  return { register, value: String(value) }
}
