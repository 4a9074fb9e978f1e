import { describe, expect, it } from 'vitest'
import { inconsistencies } from '../../../drivers/profile/consistency.ts'
import { Profile } from '../../../drivers/profile/schema.ts'

/** Every problem of a profile as "place: sentence". */
const told = (text: object) =>
  inconsistencies(Profile.parse(text)).map(({ path, message }) => `${path.join('.')}: ${message}`)

const READ = { doc: 'Reads.', send: 'R?', risk: 'read-only' }
const OHM = { kind: 'value', unit: 'ohm' }
const METER = {
  ...{ format: 'stillpoint profile 2', id: 'x', title: 'x', role: 'meter', unit: 'ohm', language: 'plain' },
  framing: { send: '\n', receive: '\n' },
  identity: { ask: 'who', pattern: '.' },
  capabilities: { measure: ['read'] },
}
const COMMANDS = {
  who: { ...READ, send: 'WHO', answer: { kind: 'text' } },
  read: { ...READ, answer: OHM },
}
const meter = (more: object = {}, commands: object = {}) => ({
  ...METER,
  ...more,
  commands: { ...COMMANDS, ...commands },
})

const SENSOR = meter({
  ...{ role: 'environment', unit: undefined, capabilities: { 'read-all': ['read'] } },
  quantities: { pressure: { group: 'p', unit: 'hPa' } },
})
const STREAM = { pattern: '^(?<value>.)$', longestSilenceS: 1, freshS: 1 }

describe('inconsistencies', () => {
  it('has nothing against profiles that fit together', () => {
    expect(told(meter())).toEqual([])
    expect(told(SENSOR)).toEqual([])
    expect(told({ ...SENSOR, capabilities: {}, stream: STREAM })).toEqual([])
    // What talks by itself need not be asked who it is, nor measured.
    expect(told(meter({ stream: STREAM, capabilities: {}, identity: { pattern: '.' } }))).toEqual([])
  })

  it('wants of each role what it cannot do without', () => {
    expect(told(meter({ unit: undefined }))).toEqual([
      'role: a meter needs "unit", the unit of what it measures',
    ])
    expect(told(meter({ unit: undefined, role: 'ratio-bridge' }))).toEqual([
      'role: a ratio-bridge needs "unit", the unit of what it measures',
    ])
    expect(told(meter({ role: 'scanner', capabilities: { select: ['read'] } }))).toEqual([
      'role: a scanner needs "inputs"',
    ])
    expect(told({ ...SENSOR, quantities: undefined })).toEqual([
      'role: an environment sensor needs "quantities"',
    ])
    expect(told({ ...SENSOR, capabilities: {} })).toEqual([
      'role: an environment sensor needs "stream" or the capability "read-all"',
    ])
    expect(told(meter({ identity: { pattern: '.' } }))).toEqual([
      'identity: an instrument that can be asked needs "ask"',
    ])
    expect(told(meter({ capabilities: {} }))).toEqual([
      'capabilities: a meter needs the capability "measure"',
    ])
    expect(told(meter({ role: 'bath', capabilities: { 'read-temperature': ['read'] } }))).toEqual([
      'capabilities: a bath needs the capability "set-setpoint"',
      'capabilities: a bath needs the capability "read-setpoint"',
    ])
  })

  it('wants of a part in the case what its role cannot do without, and asks only the case who it is', () => {
    const part = (more: object) => told(meter({ parts: { b: { title: 'b', ...more } } }))
    expect(part({ role: 'meter', unit: 'ohm', capabilities: { measure: ['read'] } })).toEqual([])
    expect(part({ role: 'meter', capabilities: { measure: ['fly'] } })).toEqual([
      'parts.b.capabilities.measure.0: there is no command named "fly" under commands',
      'parts.b.role: a meter needs "unit", the unit of what it measures',
    ])
    expect(part({ role: 'environment', capabilities: {} })).toHaveLength(2)
    // A part is asked, whatever the case tells by itself.
    const talks = {
      stream: STREAM,
      capabilities: {},
      parts: { b: { title: 'b', role: 'meter', unit: 'ohm' } },
    }
    expect(told(meter({ ...talks, parts: { b: { ...talks.parts.b, capabilities: {} } } }))).toEqual([
      'parts.b.capabilities: a meter needs the capability "measure"',
    ])
  })

  it('counts the names of inputs', () => {
    const named = (names: string[]) => told(meter({ inputs: { count: 2, names } }))
    expect(named(['A', 'B'])).toEqual([])
    expect(named(['A'])).toEqual(['inputs.names: 1 name for 2 inputs'])
    expect(named(['A', 'B', 'C'])).toEqual(['inputs.names: 3 names for 2 inputs'])
  })

  it('knows the name of every command that is asked for', () => {
    expect(told(meter({ identity: { ask: 'name', pattern: '.' } }))).toEqual([
      'identity.ask: there is no command named "name" under commands',
    ])
    expect(told(meter({ watch: { ask: 'state' } }))).toEqual([
      'watch.ask: there is no command named "state" under commands',
    ])
    expect(told(meter({ errors: { kind: 'queue', ask: 'constructor' } }))).toEqual([
      'errors.ask: there is no command named "constructor" under commands',
    ])
    expect(told(meter({ prepare: ['wake'] }))).toEqual([
      'prepare.0: there is no command named "wake" under commands',
    ])
    const set = { doc: 'Sets.', send: 'S', risk: 'setting', confirm: { ask: 'back' } }
    expect(told(meter({}, { set }))).toEqual([
      'commands.set.confirm.ask: there is no command named "back" under commands',
    ])
  })

  it('wants of a condition a command that only reads, and of its answer what that kind can say', () => {
    const when = (condition: object, answer: object, risk = 'read-only') =>
      told(
        meter(
          { prepare: [{ when: { ask: 'q', ...condition }, do: ['read'] }] },
          { q: { ...READ, send: 'Q', risk, answer } },
        ),
      )
    const bits = { kind: 'bits' }
    const text = { kind: 'text' }
    for (const [condition, answer] of [
      [{ set: 1 }, bits],
      [{ clear: 1 }, bits],
      [{ equals: 'x' }, text],
      [{ equals: '1' }, OHM],
      [{ least: 1 }, OHM],
      [{ most: 1 }, OHM],
    ] as const)
      expect(when(condition, answer)).toEqual([])
    const at = 'prepare.0.when.ask'
    expect(when({ set: 1 }, text)).toEqual([`${at}: "set" and "clear" are for answers of bits`])
    expect(when({ clear: 1 }, OHM)).toEqual([`${at}: "set" and "clear" are for answers of bits`])
    expect(when({ equals: '1' }, bits)).toEqual([`${at}: "equals" is for texts and values`])
    expect(when({ least: 1 }, text)).toEqual([`${at}: "least" and "most" are for values`])
    expect(when({ most: 1 }, bits)).toEqual([`${at}: "least" and "most" are for values`])
    expect(when({}, bits)).toEqual([`${at}: a condition needs "set", "clear", "equals", "least" or "most"`])
    expect(when({ set: 1 }, { kind: 'none' })).toEqual([
      `${at}: "q" has no answer that a condition could be of`,
    ])
    expect(when({ set: 1 }, bits, 'setting')).toEqual([
      `${at}: "q" does not only read, so it cannot be a condition`,
    ])
  })

  it('has each parameter in the line and in its list, with limits in order, and both where it can hurt', () => {
    const set = (more: object) =>
      told(meter({}, { set: { doc: 'Sets.', send: 'S {t}', risk: 'setting', ...more } }))
    const at = 'commands.set'
    expect(set({ parameters: { t: { low: 0, high: 0 } } })).toEqual([])
    expect(set({})).toEqual([`${at}.send: {t} is not under this command's parameters`])
    expect(set({ parameters: { t: {}, u: {} } })).toEqual([
      `${at}.parameters.u: {u} does not occur in "send"`,
    ])
    expect(set({ parameters: { t: { low: 2, high: 1 } } })).toEqual([`${at}.parameters.t: low is above high`])
    const hurts = [`${at}.parameters.t: a hazardous command needs low and high for each number it carries`]
    const hot = (t: object) => set({ risk: 'hazardous', parameters: { t } })
    expect([hot({ low: 1 }), hot({ high: 1 }), hot({})]).toEqual([hurts, hurts, hurts])
    expect([hot({ low: 1, high: 2 }), hot({ words: { on: '1' } })]).toEqual([[], []])
    expect(set({ send: 'S {input}' })).toEqual([])
    const triggers = `${at}.trigger: a trigger carries no parameters and has no answer: ask for the value with another command`
    expect(set({ send: 'G', trigger: true })).toEqual([])
    expect(set({ trigger: true, parameters: { t: {} } })).toEqual([triggers])
    expect(set({ send: 'G', trigger: true, answer: OHM })).toEqual([triggers])
  })

  it('has in the line of a capability only what the capability hands over', () => {
    const pick = { doc: 'Picks.', send: 'I {input}', risk: 'setting' }
    const by = (capability: string, more: object = {}) =>
      told(meter({ capabilities: { measure: ['read'], [capability]: ['pick'] }, ...more }, { pick }))
    expect(by('select-input', { inputs: { count: 2 } })).toEqual([])
    expect(by('select-input')).toEqual([
      'capabilities.select-input.0: {input} needs "inputs", which says how they are numbered',
    ])
    expect(by('set-current', { inputs: { count: 2 } })).toEqual([
      'capabilities.set-current.0: "pick" wants {input}, which set-current does not have',
    ])
    expect(by('fly', { inputs: { count: 2 } })).toEqual([
      'capabilities.fly: a meter has no capability "fly"; it may have measure, select-input, set-current, set-average, set-range, keep-warm',
      'capabilities.fly.0: "pick" wants {input}, which fly does not have',
    ])
  })

  it('has a word for every range and a range for every word', () => {
    const ranged = (names: string[], words?: object) =>
      told(
        meter(
          {
            capabilities: { measure: ['read'], 'set-range': ['range'] },
            ranges: names.map((name) => ({ name })),
          },
          { range: { doc: 'R.', send: 'RANGE {range}', risk: 'setting', parameters: { range: { words } } } },
        ),
      )
    expect(ranged(['low', 'high'], { low: '1', high: '2' })).toEqual([])
    expect(ranged(['low', 'high'], { low: '1', odd: '2' })).toEqual([
      'ranges.1.name: "range" has no word for the range "high"',
      'commands.range.parameters.range.words.odd: there is no range "odd" under ranges',
    ])
    expect(ranged(['low'])).toEqual([
      'commands.range.parameters.range: a range needs "words": how each of them is written',
    ])
    expect(told(meter({ ranges: [{ name: 'low' }] }))).toEqual([
      'ranges: ranges need the capability "set-range"',
    ])
  })

  it('sends at the start what is complete in itself and hurts nobody', () => {
    const set = { doc: 'Sets.', send: 'S {t}', risk: 'setting', parameters: { t: {} } }
    const heat = { doc: 'Heats.', send: 'HEAT', risk: 'hazardous' }
    expect(told(meter({ prepare: ['read', 'set', 'heat'] }, { set, heat }))).toEqual([
      'prepare.1: what is sent at the start carries no parameters',
      'prepare.2: a hazardous command is never sent without being asked for',
    ])
  })

  it('sends a check value in bytes only over lines that carry any byte', () => {
    const checked = (form: string, characters: string) =>
      told(meter({ checksum: { kind: 'sum8', form }, framing: { ...METER.framing, characters } }))
    expect([checked('bytes', 'latin1'), checked('hex-upper', 'ascii')]).toEqual([[], []])
    expect(checked('bytes', 'ascii')).toEqual([
      'framing.characters: a checksum sent as bytes needs characters "latin1"',
    ])
  })
})

describe('inconsistencies of a Modbus device', () => {
  const register = (table: string, type = 'uint16', more: object = {}) => ({
    table,
    address: 0,
    type,
    ...more,
  })
  const modbus = (send: string, answer: object, more: object = {}) =>
    told(
      meter(
        {
          registers: {
            t: register('input'),
            s: register('holding'),
            name: register('holding', 'text', { length: 4 }),
          },
          capabilities: { measure: ['read'] },
          ...more,
        },
        {
          who: { ...READ, send: 'name?', answer: { kind: 'text' } },
          read: { ...READ, send, answer, parameters: /\{v\}/.test(send) ? { v: {} } : {} },
        },
      ),
    )
  const at = 'commands.read.send'
  const written = { kind: 'text' }

  it('asks for registers that there are, and sets such as can be set', () => {
    expect([modbus('t?', OHM), modbus('t,s?', OHM), modbus('s 5', written)]).toEqual([[], [], []])
    expect(modbus('u,t?', OHM)).toEqual([`${at}: there is no register "u" under registers`])
    expect(modbus('toString?', OHM)).toEqual([`${at}: there is no register "toString" under registers`])
    expect(modbus('t 5', written)).toEqual([`${at}: "t" is an input register, which cannot be set`])
    expect(modbus('name 5', written)).toEqual([`${at}: "name" is a text, which cannot be set`])
    const form = `${at}: write "register?", "one,other?" or "register {value}"`
    expect([modbus('t', OHM), modbus('s 5 6', written), modbus('t? s?', OHM)]).toEqual([
      [form],
      [form],
      [form],
    ])
  })

  it('is answered each time, in lines', () => {
    expect(modbus('s 5', { kind: 'none' })).toEqual([
      `${at}: every request is answered: an order with "written", which is to be acknowledged`,
    ])
    const lines = 'framing: lines of registers end with "\\n", sent and received'
    expect(modbus('t?', OHM, { framing: { send: '\r', receive: '\n' } })).toEqual([lines])
    expect(modbus('t?', OHM, { framing: { send: '\n', receive: '\r' } })).toEqual([lines])
  })
})
