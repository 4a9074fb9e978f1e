import type { RawUnit } from '../../app/records/reading.ts'
import { shortForm } from '../language/headers.ts'
import { identityPattern, literal, type NumberAt, patternOf } from './example.ts'
import type { ProfileText } from './schema.ts'

/** A question to the instrument, and how it answered once. */
export interface Question {
  readonly send: string
  readonly answer: string
  /** The number in the answer that is the value. */
  readonly at: NumberAt
}

/** An order with a number, and the limits it is held to. */
export interface Order {
  readonly send: string
  readonly low: number
  readonly high: number
}

/** What the instrument's numbers of temperature are in. */
export type Scale = 'degC' | 'degF' | 'K'

/** What a person told of an instrument that speaks in lines. */
export interface LinesDraft {
  readonly id: string
  readonly title: string
  readonly language: 'scpi' | 'plain'
  readonly send: string
  readonly receive: string
  readonly echo: boolean | 'sometimes'
  readonly tcpPort?: number | undefined
  readonly baud?: number | undefined
  readonly identity: { readonly send: string; readonly answer: string }
  readonly does:
    | {
        readonly role: 'meter' | 'ratio-bridge'
        readonly unit: RawUnit
        readonly measure: Question
        readonly inputs?: { readonly count: number; readonly select?: string | undefined } | undefined
        readonly current?: Order | undefined
      }
    | { readonly role: 'scanner'; readonly count: number; readonly select: string }
    | {
        readonly role: 'bath'
        readonly scale: Scale
        readonly set: Order
        readonly setpoint: Question
        readonly temperature: Question
      }
    | {
        readonly role: 'environment'
        readonly send: string
        readonly answer: string
        readonly values: Readonly<Record<'air-temperature' | 'humidity' | 'pressure', NumberAt | undefined>>
        readonly pressureUnit: 'hPa' | 'Pa'
      }
}

type Commands = ProfileText['commands']

export const LINEAR = {
  degC: undefined,
  degF: { plus: -32, times: 5, over: 9 },
  K: { plus: -273.15 },
} as const

const set = (doc: string, send: string) => ({ doc, send, risk: 'setting' }) as const

/** A profile of what was told, with the answers that were given as its transcript. */
export function draftLines(draft: LinesDraft): ProfileText {
  const { id, title, language, send, receive, echo, identity, tcpPort, baud } = draft
  const own = partsOf(draft)
  const line = (text: string) => `> ${language === 'scpi' ? shortForm(text) : text}${send}`
  const echoed = (text: string) => (echo === true ? [`< ${text}${receive}`] : [])
  const talk = (text: string, answer: string) => [line(text), ...echoed(text), `< ${answer}${receive}`]
  return {
    format: 'stillpoint profile 2',
    id,
    title,
    language,
    role: draft.does.role,
    ...own.head,
    link: {
      ...(tcpPort !== undefined && { tcp: { port: tcpPort } }),
      ...(baud !== undefined && { serial: { baud } }),
    },
    framing: { send, receive, ...(echo !== false && { echo }) },
    identity: { ask: 'identify', pattern: identityPattern(identity.answer) },
    commands: {
      identify: { doc: 'Who it is.', send: identity.send, risk: 'read-only', answer: { kind: 'text' } },
      ...own.commands,
    },
    capabilities: own.capabilities,
    transcript: [
      {
        doc: 'Identified.',
        call: 'open',
        lines: talk(identity.send, identity.answer),
      },
      ...own.asked.map(({ call, send: text, answer }) => ({
        doc: 'As it answered once.',
        call,
        lines: talk(text, answer),
        gives: { marks: [] },
      })),
    ],
  }
}

interface Own {
  readonly head: Partial<ProfileText>
  readonly commands: Commands
  readonly capabilities: ProfileText['capabilities']
  /** Calls whose answers are known. */
  readonly asked: readonly { readonly call: string; readonly send: string; readonly answer: string }[]
}

function partsOf({ does }: LinesDraft): Own {
  switch (does.role) {
    case 'meter':
    case 'ratio-bridge':
      return meterOf(does)
    case 'scanner':
      return {
        head: { inputs: { count: does.count } },
        commands: { select: set('The input that is connected.', does.select) },
        capabilities: { select: ['select'] },
        asked: [],
      }
    case 'bath':
      return bathOf(does)
    case 'environment':
      return roomOf(does)
  }
}

type Does<Role extends LinesDraft['does']['role']> = Extract<LinesDraft['does'], { role: Role }>

function valueRule({ answer, at }: Question, unit: RawUnit) {
  const comma = at.text.includes(',')
  return { kind: 'value', unit, pattern: patternOf(answer, at), ...(comma && { comma }) } as const
}

function meterOf({ unit, measure, inputs, current }: Does<'meter' | 'ratio-bridge'>): Own {
  const select = inputs?.select
  return {
    head: { unit, ...(inputs && { inputs: { count: inputs.count } }) },
    commands: {
      measure: {
        doc: 'What it measures.',
        send: measure.send,
        risk: 'read-only',
        answer: valueRule(measure, unit),
      },
      ...(select !== undefined && { select: set('The input that is measured.', select) }),
      ...(current && {
        current: {
          doc: 'The measuring current.',
          send: current.send,
          risk: 'hazardous',
          parameters: { current: { unit: 'mA', low: current.low, high: current.high } },
        },
      }),
    },
    capabilities: {
      measure: ['measure'],
      ...(select !== undefined && { 'select-input': ['select'] }),
      ...(current && { 'set-current': ['current'] }),
    },
    // Where each question names the input, the example is of one that is not known.
    asked: measure.send.includes('{')
      ? []
      : [{ call: 'measure', send: measure.send, answer: measure.answer }],
  }
}

function bathOf({ scale, set: order, setpoint, temperature }: Does<'bath'>): Own {
  const linear = LINEAR[scale]
  const places = /[.,](\d*)/.exec(setpoint.at.text)?.[1]?.length ?? 0
  const step = 10 ** -places * (scale === 'degF' ? 5 / 9 : 1)
  const read = (doc: string, question: Question) =>
    ({
      doc,
      send: question.send,
      risk: 'read-only',
      answer: { ...valueRule(question, 'degC'), ...(linear && { linear }) },
    }) as const
  return {
    head: {
      about:
        'CAUTION: a bath can hold fluid hot enough to burn and to catch fire. Keep its own cut-out set, follow the rules of your place and leave work on mains wiring to licensed people.',
    },
    commands: {
      'set-setpoint': {
        doc: 'The temperature the bath shall hold.',
        send: order.send,
        risk: 'hazardous',
        parameters: {
          celsius: {
            unit: 'degC',
            low: order.low,
            high: order.high,
            decimals: places,
            ...(linear && { linear }),
          },
        },
        // It is sent with as many places as it is read with: it comes back to within half a step.
        confirm: { ask: 'read-setpoint', parameter: 'celsius', within: Number((0.51 * step).toPrecision(3)) },
      },
      'read-setpoint': read('The temperature the bath shall hold.', setpoint),
      temperature: read('The temperature of the bath.', temperature),
    },
    capabilities: {
      'set-setpoint': ['set-setpoint'],
      'read-setpoint': ['read-setpoint'],
      'read-temperature': ['temperature'],
    },
    asked: [
      { call: 'read-setpoint', send: setpoint.send, answer: setpoint.answer },
      { call: 'read-temperature', send: temperature.send, answer: temperature.answer },
    ],
  }
}

function roomOf({ send, answer, values, pressureUnit }: Does<'environment'>): Own {
  const units = { 'air-temperature': 'degC', humidity: '%', pressure: pressureUnit } as const
  const known = Object.entries(values).filter((entry): entry is [keyof typeof units, NumberAt] => !!entry[1])
  return {
    head: {
      quantities: Object.fromEntries(
        known.map(([quantity]) => [quantity, { group: groupOf(quantity), unit: units[quantity] }]),
      ),
    },
    commands: {
      'read-all': {
        doc: 'The air of the room.',
        send,
        risk: 'read-only',
        answer: { kind: 'text', pattern: roomPattern(answer, known) },
      },
    },
    capabilities: { 'read-all': ['read-all'] },
    asked: [{ call: 'read-all', send, answer }],
  }
}

const groupOf = (quantity: string): string => quantity.replace('air-', '')

/** The pattern of one value after another, each in a group of its own. */
function roomPattern(answer: string, known: readonly (readonly [string, NumberAt])[]): string {
  let pattern = '^'
  let done = 0
  for (const [quantity, at] of known.toSorted((a, b) => a[1].from - b[1].from)) {
    const part = patternOf(answer.slice(done, at.from + at.text.length), { ...at, from: at.from - done })
    pattern += part.slice(1, -1).replace('(?<value>', `(?<${groupOf(quantity)}>`)
    done = at.from + at.text.length
  }
  return `${pattern}${literal(answer.slice(done))}$`
}
