import type { RawUnit } from '../../app/records/reading.ts'
import { LINEAR, type Scale } from './draft.ts'
import { literal } from './example.ts'
import type { ProfileText } from './schema.ts'

/** A register as a person told it. */
export type RegisterText = NonNullable<ProfileText['registers']>[string]

/** What a person told of a device with registers. */
export interface RegistersDraft {
  readonly id: string
  readonly title: string
  /** A register that never changes, and what it holds. */
  readonly identity: { readonly register: RegisterText; readonly value: string }
  readonly does:
    | { readonly role: 'meter'; readonly unit: RawUnit; readonly value: RegisterText }
    | {
        readonly role: 'bath'
        readonly scale: Scale
        readonly setpoint: RegisterText
        readonly low: number
        readonly high: number
        readonly temperature: RegisterText
      }
    | {
        readonly role: 'environment'
        readonly values: Partial<Record<'air-temperature' | 'humidity' | 'pressure', RegisterText>>
        readonly pressureUnit: 'hPa' | 'Pa'
      }
}

/** How a number and its words are answered ([buses.md](../../docs/buses.md)): in full, shortest form, or in words. */
const NUMBER = '-?\\d+(?:\\.\\d+)?(?:e[+-]?\\d+)?|NaN|-?Infinity'
const WORDS = ' \\[[0-9A-F ]+\\]'

const asked = (doc: string, send: string, answer: object) =>
  ({ doc, send, risk: 'read-only', answer }) as ProfileText['commands'][string]
const value = (unit: RawUnit, more: object = {}) => ({
  kind: 'value',
  unit,
  pattern: `^(?<value>${NUMBER})${WORDS}$`,
  ...more,
})

/** A profile of what was told of a device on Modbus. */
export function draftRegisters({ id, title, identity, does }: RegistersDraft): ProfileText {
  const own = ownOf(does)
  return {
    format: 'stillpoint profile 2',
    id,
    title,
    language: 'plain',
    role: does.role,
    ...own.head,
    framing: { send: '\n', receive: '\n' },
    identity: { ask: 'identify', pattern: `^(?<model>${literal(identity.value)})${WORDS}$` },
    errors: { kind: 'reply', pattern: '^exception (?<code>\\d+): ' },
    registers: { type: identity.register, ...own.registers },
    commands: {
      identify: asked('What it is.', 'type?', { kind: 'text' }),
      ...own.commands,
    },
    capabilities: own.capabilities,
  }
}

type Own = Pick<ProfileText, 'commands' | 'capabilities' | 'registers'> & {
  readonly head: Partial<ProfileText>
}

function ownOf(does: RegistersDraft['does']): Own {
  switch (does.role) {
    case 'meter':
      return {
        head: { unit: does.unit },
        registers: { value: does.value },
        commands: { measure: asked('What it measures.', 'value?', value(does.unit)) },
        capabilities: { measure: ['measure'] },
      }
    case 'bath':
      return bathOf(does)
    case 'environment':
      return roomOf(does)
  }
}

function bathOf(does: Extract<RegistersDraft['does'], { role: 'bath' }>): Own {
  const { scale, setpoint, temperature, low, high } = does
  const linear = LINEAR[scale]
  const more = linear === undefined ? {} : { linear }
  // A whole number in a register has the step of its power of ten; a binary one is set to thousandths.
  const decimals = setpoint.type.startsWith('float') ? 3 : Math.max(0, -(setpoint.power ?? 0))
  const step = 10 ** -decimals * (scale === 'degF' ? 5 / 9 : 1)
  return {
    head: {
      about:
        'CAUTION: a bath or furnace can burn and cause fire. Keep its own cut-out set, follow the rules of your place and leave work on mains wiring to licensed people.',
    },
    registers: { setpoint, temperature },
    commands: {
      'set-setpoint': {
        doc: 'The temperature it shall hold.',
        send: 'setpoint {celsius}',
        risk: 'hazardous',
        parameters: { celsius: { unit: 'degC', low, high, decimals, ...more } },
        answer: { kind: 'acknowledge', pattern: '^written$' },
        confirm: {
          ask: 'read-setpoint',
          parameter: 'celsius',
          within: Number((0.51 * step).toPrecision(3)),
        },
      },
      'read-setpoint': asked('The temperature it shall hold.', 'setpoint?', value('degC', more)),
      temperature: asked('The temperature it has.', 'temperature?', value('degC', more)),
    },
    capabilities: {
      'set-setpoint': ['set-setpoint'],
      'read-setpoint': ['read-setpoint'],
      'read-temperature': ['temperature'],
    },
  }
}

function roomOf({ values, pressureUnit }: Extract<RegistersDraft['does'], { role: 'environment' }>): Own {
  const units = { 'air-temperature': 'degC', humidity: '%', pressure: pressureUnit } as const
  const names = Object.keys(values) as (keyof typeof units)[]
  const group = (name: string) => name.replace('air-', '')
  return {
    head: {
      quantities: Object.fromEntries(names.map((name) => [name, { group: group(name), unit: units[name] }])),
    },
    registers: values as Record<string, RegisterText>,
    commands: {
      'read-all': asked('The air of the room.', `${names.join(',')}?`, {
        kind: 'text',
        pattern: `^${names.map((name) => `(?<${group(name)}>${NUMBER})${WORDS}`).join(', ')}$`,
      }),
    },
    capabilities: { 'read-all': ['read-all'] },
  }
}
