import { describe, expect, it } from 'vitest'
import { formatProblems } from '../../../drivers/profile/format-words.ts'
import { Profile } from '../../../drivers/profile/schema.ts'
import { valueProblems } from '../../../drivers/profile/value-consistency.ts'

const STREAM = { pattern: '^(?<value>.)$', longestSilenceS: 1, freshS: 1 }
const OHM = { kind: 'value', unit: 'ohm' }

/** A meter of one command; `read` is what is said of it beside the usual. */
const meter = (more: object = {}, read: object = {}) =>
  Profile.parse({
    ...{ format: 'stillpoint profile 1', id: 'x', title: 'x', role: 'meter', unit: 'ohm', language: 'plain' },
    framing: { send: '\n', receive: '\n' },
    identity: { pattern: '.' },
    commands: { read: { doc: 'Reads.', send: 'R?', risk: 'read-only', answer: OHM, ...read } },
    ...more,
  })
const framing = (more: object) => ({ framing: { send: '\n', receive: '\n', ...more } })

describe('words of format 2 in a profile of format 1', () => {
  const places = (profile: Profile) => formatProblems(profile).map(({ path }) => path.join('.'))

  it('are pointed at where they stand, and the sentence names the word', () => {
    const [found] = formatProblems(meter({}, { answer: { ...OHM, many: { of: 'inputs', separator: ',' } } }))
    expect(found).toEqual({
      path: ['commands', 'read', 'answer', 'many'],
      message: '"many" as it is used here needs "format": "stillpoint profile 2"',
    })
    // A place in a list is named by the word it stands under.
    const [step] = formatProblems(meter({ prepare: [{ repeat: ['read'], most: 2 }] }))
    expect(step!.message).toMatch(/^"repeat" as/)
  })

  const register = (more: object) => ({
    registers: { t: { table: 'input', address: 0, type: 'uint16', ...more } },
  })
  const sensor = (more: object) => ({ role: 'environment', unit: undefined, ...more })
  it.each<[string[], object, object?]>([
    [[], {}],
    [[], register({})],
    [[], sensor({ stream: STREAM, quantities: { pressure: { group: 'p', unit: 'hPa' } } })],
    [[], framing({ echo: true })],
    [['framing.ignore'], framing({ ignore: ['x'] })],
    [['framing.echo'], framing({ echo: 'sometimes' })],
    [['ranges'], { ranges: [] }],
    [['parts'], { parts: {} }],
    [['stream'], { stream: STREAM }],
    [['stream.timePower'], sensor({ stream: { ...STREAM, timePower: 0 } })],
    [['stream.value'], sensor({ stream: { ...STREAM, value: {} } })],
    [['stream.takesMs'], sensor({ stream: { ...STREAM, takesMs: 5 } })],
    [['registers.t.type'], register({ type: 'float64' })],
    [['registers.t.type'], register({ type: 'int64' })],
    [['registers.t.type'], register({ type: 'uint64' })],
    [['registers.t.bytes'], register({ bytes: 'high-first' })],
    [
      ['quantities.pressure.linear'],
      sensor({ quantities: { pressure: { group: 'p', unit: 'hPa', linear: {} } } }),
    ],
    [['prepare.0.when'], { prepare: [{ when: { ask: 'read', least: 1 }, do: ['read'] }] }],
    [
      ['capabilities.measure.1.repeat'],
      { capabilities: { measure: ['read', { repeat: ['read'], most: 2 }] } },
    ],
    [['capabilities.set-range'], { capabilities: { 'set-range': ['read'] } }],
    [['commands.read.answer.linear'], {}, { answer: { ...OHM, linear: {} } }],
    [['commands.read.answer.numbers'], {}, { answer: { ...OHM, numbers: { type: 'int16', order: 'big' } } }],
    [['commands.read.trigger'], {}, { trigger: true }],
    [['commands.read.poll.onRequest'], {}, { poll: { everyMs: 1, longestMs: 1, onRequest: true } }],
    [[], {}, { poll: { everyMs: 1, longestMs: 1 } }],
    [['commands.read.parameters.t.linear'], {}, { parameters: { t: { linear: {} } } }],
  ])('are %j', (expected, more, read = {}) => {
    expect(places(meter(more, read))).toEqual(expected)
    expect(places(meter({ ...more, format: 'stillpoint profile 2' }, read))).toEqual([])
  })
})

describe('what values need of the rest of the profile', () => {
  const told = (more: object, read: object = {}) =>
    valueProblems(meter(more, read)).map(({ path, message }) => `${path.join('.')}: ${message}`)
  const value = (answer: object, more: object = framing({ blocks: true, characters: 'latin1' })) =>
    told(more, { answer: { ...OHM, ...answer } })
  const numbers = { block: true, numbers: { type: 'int16', order: 'big' } }
  const at = 'commands.read.answer'

  it('is nothing where they have it', () => {
    expect(told({})).toEqual([])
    for (const answer of [
      numbers,
      { ...numbers, many: { of: 'moments' } },
      { many: { of: 'inputs', separator: ',' } },
      { field: { separator: ',', index: 1 } },
    ])
      expect(value(answer)).toEqual([])
    expect(told({}, { answer: { kind: 'text' } })).toEqual([])
  })

  it('is a block with all its bytes for binary numbers, and a separator for several values of a text', () => {
    expect(value({ block: true }, {})).toEqual(['framing: an answer is a block: set "blocks" to true'])
    expect(value({ ...numbers, block: false })).toEqual([
      `${at}.numbers: binary numbers come in a block: set "block" to true`,
    ])
    expect(value(numbers, framing({ blocks: true }))).toEqual([
      'framing.characters: binary numbers need characters "latin1"',
    ])
    expect(value({ many: { of: 'inputs' } })).toEqual([`${at}.many: values of a text need "separator"`])
    expect(value({ ...numbers, many: { of: 'inputs', separator: ',' } })).toEqual([
      `${at}.many: binary numbers stand one after another, without "separator"`,
    ])
    const field = { field: { separator: ',', index: 1 } }
    const one = `${at}.field: takes one part of several, where "many" or "numbers" takes all of them`
    expect(value({ ...numbers, ...field })).toEqual([one])
    expect(value({ many: { of: 'inputs', separator: ',' }, ...field })).toEqual([one])
  })

  it('is a channel for requests where they are waited for', () => {
    const poll = { poll: { everyMs: 1, longestMs: 1, onRequest: true } }
    expect(told({}, poll)).toEqual([
      'commands.read.poll.onRequest: over VXI-11 requests come only where "link" has "serviceRequests": true',
    ])
    expect(told({ link: { serviceRequests: true } }, poll)).toEqual([])
  })

  it('is a group for what telegrams tell, of an instrument that tells by itself', () => {
    const stream = (more: object, role = 'meter') => told({ role, stream: { ...STREAM, ...more } })
    expect([stream({}), stream({}, 'ratio-bridge'), stream({}, 'environment')]).toEqual([[], [], []])
    for (const role of ['bath', 'scanner'])
      expect(stream({}, role)).toEqual([`stream: a ${role} does not tell values by itself`])
    const bare = { pattern: '^x$' }
    expect(stream(bare)).toEqual(['stream.pattern: the telegram of a meter needs the group "value"'])
    expect(stream(bare, 'environment')).toEqual([])
    expect(stream({ timePower: -3 })).toEqual(['stream.timePower: the pattern has no group "time"'])
    expect(stream({ timePower: -3, pattern: '^(?<time>.)(?<value>.)$' })).toEqual([])
  })
})
