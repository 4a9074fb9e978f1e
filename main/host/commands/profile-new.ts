import { access, writeFile } from 'node:fs/promises'
import { first } from '../../../app/base/lists.ts'
import { plainId } from '../../../app/base/plain-id.ts'
import { RAW_UNITS } from '../../../app/records/reading.ts'
import {
  checkProfile,
  draftLines,
  draftRegisters,
  type LinesDraft,
  type NumberAt,
  numbersIn,
  type ProfileText,
  type Question,
  type RegistersDraft,
  type RegisterText,
  tellProblem,
} from '../../../drivers/index.ts'
import { Interview, InterviewEnded, type Taken } from '../interview.ts'
import { askRegister, askType } from './profile-new-registers.ts'

const INTRODUCTION = `A profile is made by questions. Have the instrument's manual at hand; answers of the instrument are copied from it, or from a terminal.
An empty line takes what stands in brackets. Nothing is sent to any instrument.`

const BATH_CAUTION = `Caution: a bath can hold fluid hot enough to burn and to catch fire. Give the limits of your bath and its fluid, keep its own cut-out set,
and follow the rules of your place. The limits hold on every path.`

const CURRENT_CAUTION =
  'Caution: a current that is too large spoils or destroys a thermometer. Give the limits of what you measure.'

const ENDS = [
  ['line feed (LF, \\n)', '\n'],
  ['carriage return and line feed (CR LF, \\r\\n)', '\r\n'],
  ['carriage return (CR, \\r)', '\r'],
] as const

/** Asks a person step by step and writes a profile that passes its check. Resolves to whether it was written. */
export async function newProfile(
  file: string | undefined,
  say: (text: string) => void,
  input: NodeJS.ReadableStream = process.stdin,
): Promise<boolean> {
  const talk = new Interview(input, say)
  try {
    talk.tell(INTRODUCTION)
    const profile = await interview(talk)
    const text = `${JSON.stringify(profile, null, 2)}\n`
    const path = file ?? `${profile.id}.json`
    const checked = checkProfile(text, path)
    if (!checked.ok) {
      for (const problem of checked.problems) talk.tell(tellProblem(problem))
      talk.tell('Nothing was written: these answers do not make a profile.')
      return false
    }
    if (await exists(path)) {
      talk.tell(`${path} exists already, and is left as it is. Give another file.`)
      return false
    }
    await writeFile(path, text, { flag: 'wx' })
    talk.tell(
      `${path} is written. Next: stillpoint profile check ${path}, then stillpoint profile try ${path} --link ...`,
    )
    return true
  } catch (error) {
    if (!(error instanceof InterviewEnded)) throw error
    talk.tell(`\n${error.message}\nNothing was written.`)
    return false
  } finally {
    talk.close()
  }
}

async function interview(talk: Interview): Promise<ProfileText> {
  const title = await talk.text('What do you call this make of instrument')
  const slug = plainId(title).replace(/^[^a-z]+/, '') || 'instrument'
  const id = await talk.ask('A short name for it, in lower case with hyphens', nameOf, slug)
  const speaks = await talk.choose('How is it spoken to', [
    ['in lines of text (network socket, serial port, HiSLIP, VXI-11, USB)', 'lines'],
    ['by its registers (Modbus)', 'registers'],
  ] as const)
  return speaks === 'lines'
    ? draftLines({ id, title, ...(await lines(talk)) })
    : draftRegisters({ id, title, ...(await registers(talk)) })
}

async function registers(talk: Interview): Promise<Omit<RegistersDraft, 'id' | 'title'>> {
  const role = await talk.choose('What is it', [
    ['a bath or furnace', 'bath'],
    ['a sensor of the air in the room', 'environment'],
    ['a meter', 'meter'],
  ] as const)
  const identity = await askType(talk)
  if (role === 'meter') {
    const unit = await talk.choose('What does it measure in', UNITS)
    return { identity, does: { role, unit, value: await askRegister(talk, 'what it measures') } }
  }
  if (role === 'environment') return { identity, does: await roomOfRegisters(talk) }
  talk.tell(BATH_CAUTION)
  const scale = await talk.choose('What are its numbers in', SCALES)
  const setpoint = await askRegister(talk, 'the temperature it shall hold', true)
  const bounds = await limits(talk, 'setpoint', 'degC')
  const temperature = await askRegister(talk, 'the temperature it has')
  return { identity, does: { role, scale, setpoint, ...bounds, temperature } }
}

async function roomOfRegisters(talk: Interview): Promise<RegistersDraft['does']> {
  const values: Partial<Record<'air-temperature' | 'humidity' | 'pressure', RegisterText>> = {}
  for (const [name, words] of QUANTITIES) {
    const has = await talk.choose(`Does it tell ${words}`, YES_NO)
    if (has) values[name] = await askRegister(talk, words)
  }
  const pressureUnit =
    values.pressure === undefined ? 'hPa' : await talk.choose('The pressure is in', PRESSURES)
  return { role: 'environment', values, pressureUnit }
}

async function lines(talk: Interview): Promise<Omit<LinesDraft, 'id' | 'title'>> {
  const role = await talk.choose('What is it', [
    ['a ratio bridge', 'ratio-bridge'],
    ['a meter of resistance, voltage or temperature', 'meter'],
    ['a scanner', 'scanner'],
    ['a bath or furnace', 'bath'],
    ['a sensor of the air in the room', 'environment'],
  ] as const)
  const language = await talk.choose('What are its commands like', [
    ['words as in SCPI, such as SYSTem:ERRor?', 'scpi'],
    ['lines of its own', 'plain'],
  ] as const)
  const send = await talk.choose('What ends a line that is sent to it', ENDS)
  const receive = await talk.choose('What ends its answers', ENDS)
  const echo = await talk.choose<boolean | 'sometimes'>('Does it repeat each line before it answers', [
    ['no', false],
    ['yes', true],
    ['sometimes', 'sometimes'],
  ])
  const baud = await talk.number(
    'Baud rate on a serial port',
    { low: 50, high: 4_000_000, whole: true },
    '9600',
  )
  const tcpPort = await talk.number(
    'TCP port on a network, 0 where it has none',
    { low: 0, high: 65_535, whole: true },
    '0',
  )
  const identity = {
    send: await talk.text('What is it asked to say who it is', '*IDN?'),
    answer: await talk.text('What does it answer'),
  }
  const does = await doesOf(talk, role)
  return { language, send, receive, echo, baud, ...(tcpPort > 0 && { tcpPort }), identity, does }
}

async function doesOf(talk: Interview, role: LinesDraft['does']['role']): Promise<LinesDraft['does']> {
  switch (role) {
    case 'ratio-bridge':
    case 'meter':
      return meter(talk, role)
    case 'scanner':
      return {
        role,
        count: await talk.number('How many inputs has it', COUNT, '10'),
        select: await talk.ask('What connects an input; write {input} for its number', carrying('input')),
      }
    case 'bath':
      return bath(talk)
    case 'environment':
      return room(talk)
  }
}

const UNITS = RAW_UNITS.map((each) => [each, each] as const)
const SCALES = [
  ['degrees Celsius', 'degC'],
  ['degrees Fahrenheit', 'degF'],
  ['kelvins', 'K'],
] as const
const PRESSURES = [
  ['hPa', 'hPa'],
  ['Pa', 'Pa'],
] as const
const QUANTITIES = [
  ['air-temperature', 'the temperature in degrees Celsius'],
  ['humidity', 'the relative humidity in per cent'],
  ['pressure', 'the pressure'],
] as const
const YES_NO = [
  ['yes', true],
  ['no', false],
] as const

const COUNT = { low: 1, high: 10_000, whole: true }

async function meter(talk: Interview, role: 'ratio-bridge' | 'meter'): Promise<LinesDraft['does']> {
  const unit =
    role === 'ratio-bridge' ? ('ratio' as const) : await talk.choose('What does it measure in', UNITS)
  const measure = await question(talk, 'What is it asked for a measurement')
  const count = await talk.number('How many inputs of its own has it', COUNT, '1')
  const select =
    count > 1
      ? await talk.ask(
          'What selects an input; write {input} for its number, or - for nothing',
          orNothing('input'),
        )
      : undefined
  const order = await talk.ask(
    'What sets its current; write {current} for milliamperes, or - for nothing',
    orNothing('current'),
    '-',
  )
  if (order !== undefined) talk.tell(CURRENT_CAUTION)
  const current = order === undefined ? undefined : { send: order, ...(await limits(talk, 'current', 'mA')) }
  return { role, unit, measure, ...(count > 1 && { inputs: { count, select } }), ...(current && { current }) }
}

async function bath(talk: Interview): Promise<LinesDraft['does']> {
  talk.tell(BATH_CAUTION)
  const scale = await talk.choose('What are its numbers in', SCALES)
  const send = await talk.ask(
    'What sets its temperature; write {celsius} for the number, whatever its scale',
    carrying('celsius'),
  )
  const bounds = await limits(talk, 'setpoint', 'degC')
  return {
    role: 'bath',
    scale,
    set: { send, ...bounds },
    setpoint: await question(talk, 'What is it asked for the temperature it shall hold'),
    temperature: await question(talk, 'What is it asked for the temperature it has'),
  }
}

async function room(talk: Interview): Promise<LinesDraft['does']> {
  const send = await talk.text('What is it asked for its values')
  const answer = await talk.ask('What does it answer', holdingNumbers)
  const numbers = numbersIn(answer)
  const one = (what: string) =>
    talk.choose<NumberAt | undefined>(`Which of its numbers is ${what}`, [
      ['none', undefined],
      ...numbers.map((each) => [each.text, each] as const),
    ])
  const values = {
    'air-temperature': await one('the temperature in degrees Celsius'),
    humidity: await one('the relative humidity in per cent'),
    pressure: await one('the pressure'),
  }
  const pressureUnit =
    values.pressure === undefined ? ('hPa' as const) : await talk.choose('The pressure is in', PRESSURES)
  return { role: 'environment', send, answer, values, pressureUnit }
}

/** A question to the instrument, its answer, and which number of it is meant. */
async function question(talk: Interview, words: string): Promise<Question> {
  const send = await talk.text(words)
  const answer = await talk.ask('What does it answer, to the letter', holdingNumbers)
  const numbers = numbersIn(answer)
  const at =
    numbers.length === 1
      ? first(numbers)
      : await talk.choose(
          'Which of its numbers is the value',
          numbers.map((each) => [each.text, each] as const),
        )
  return { send, answer, at }
}

async function limits(talk: Interview, what: string, unit: string): Promise<{ low: number; high: number }> {
  const low = await talk.number(`Lowest ${what} that may be set, in ${unit}`)
  const high = await talk.number(`Highest ${what} that may be set, in ${unit}`, { low })
  return { low, high }
}

function nameOf(answer: string): Taken<string> {
  const name = answer.trim()
  return /^[a-z][a-z0-9-]*$/.test(name)
    ? { value: name }
    : { problem: 'Lower-case letters, digits and hyphens, a letter first.' }
}

/** A line that carries its parameter, once. */
const carrying =
  (parameter: string) =>
  (answer: string): Taken<string> => {
    const line = answer.trim()
    return line.split(`{${parameter}}`).length === 2
      ? { value: line }
      : { problem: `Write {${parameter}} where the number goes.` }
  }

const orNothing =
  (parameter: string) =>
  (answer: string): Taken<string | undefined> =>
    answer.trim() === '-' ? { value: undefined } : carrying(parameter)(answer)

function holdingNumbers(answer: string): Taken<string> {
  const text = answer.trim()
  return numbersIn(text).length > 0
    ? { value: text }
    : { problem: 'There is no number in it. Copy an answer as it comes.' }
}

async function exists(path: string): Promise<boolean> {
  return access(path).then(
    () => true,
    () => false,
  )
}
