import { describe, expect, it } from 'vitest'
import { loadProfiles } from '../../../drivers/index.ts'
import {
  checkLimits,
  compileTemplate,
  printInput,
  printParameter,
  TemplateError,
} from '../../../drivers/profile/template.ts'

const library = await loadProfiles()
const profiles = [...library.profiles.values()].map((driver) => driver.profile)

describe('every profile', () => {
  const commands = profiles.flatMap((profile) =>
    Object.entries(profile.commands).map(([name, command]) => [`${profile.id} ${name}`, command] as const),
  )
  it.each(commands)('%s says what it does or tells in a sentence', (_name, command) => {
    expect(command.doc).toMatch(/^[A-Z0-9].+\.$/)
  })

  it('tags whatever heats or drives a current as hazardous', () => {
    for (const [name, command] of commands) {
      if (command.parameters.celsius || command.parameters.on)
        expect([name, command.risk]).toEqual([name, 'hazardous'])
    }
  })
})

describe('the profiles that ship', () => {
  /** Each point in which instruments differ, and what the profiles do about it. */
  const distinct = (pick: (profile: (typeof profiles)[number]) => unknown) =>
    new Set(profiles.map((profile) => JSON.stringify(pick(profile) ?? null))).size

  it('differ in every point', () => {
    expect(distinct((p) => p.framing.send)).toBeGreaterThan(3)
    expect(distinct((p) => p.framing.receive)).toBeGreaterThan(3)
    expect(distinct((p) => p.link.serial)).toBeGreaterThan(5)
    expect(distinct((p) => p.checksum)).toBeGreaterThan(3)
    expect(distinct((p) => p.framing.echo)).toBe(2)
    expect(distinct((p) => p.framing.prompt)).toBe(2)
    expect(distinct((p) => p.errors.kind)).toBe(3)
    expect(distinct((p) => p.inputs?.first)).toBeGreaterThan(2)
    expect(distinct((p) => p.timing.gapMs)).toBeGreaterThan(2)
  })
})

describe('printInput', () => {
  it('counts by slots, from any number, with names', () => {
    const slots = { count: 40, first: 101, perSlot: 16, slotStep: 100 }
    expect([1, 16, 17, 40].map((input) => printInput(input, slots))).toEqual(['101', '116', '201', '308'])
    expect(printInput(8, { count: 32, first: 0, width: 2 })).toBe('07')
    expect(printInput(2, { count: 2, first: 1, names: ['FRON', 'REAR'] })).toBe('REAR')
  })
  it.each([0, 33, 1.5, Number.NaN])('refuses input %d of 32', (input) =>
    expect(() => printInput(input, { count: 32, first: 0 })).toThrow(TemplateError),
  )
})

describe('checkLimits', () => {
  it('clips nothing: outside is refused with the limit in words', () => {
    expect(() => checkLimits('celsius', 150.001, { low: -20, high: 150, unit: 'degC' })).toThrow(
      'above the limit of 150 degC',
    )
    expect(() => checkLimits('celsius', Number.NaN, { low: -20, high: 150 })).toThrow(TemplateError)
    expect(() => checkLimits('celsius', 150, { low: -20, high: 150 })).not.toThrow()
  })
})

describe('printParameter', () => {
  it('knows only the words it was given', () => {
    const rule = { words: { on: '1', off: '0' } }
    expect(printParameter('on', true, rule)).toBe('1')
    expect(printParameter('on', false, rule)).toBe('0')
    expect(printParameter('range', 'low', { words: { low: 'R1', high: 'R2' } })).toBe('R1')
    expect(printParameter('filter', 10, { words: { 10: 'SLOW' } })).toBe('SLOW')
    expect(() => printParameter('range', true, { words: { low: 'R1' } })).toThrow(
      'range cannot be on: it may be low',
    )
    // A name that every object has is no word.
    expect(() => printParameter('range', 'constructor', { words: { low: 'R1' } })).toThrow(TemplateError)
    expect(() => printParameter('on', 5, rule)).toThrow('it may be on, off')
  })
})

describe('compileTemplate', () => {
  const command = {
    parameters: { celsius: { low: -20, high: 150, decimals: 2 }, current: { power: -3, significant: 3 } },
  }
  const inputs = { count: 20, first: 0, width: 2 }

  it('fills in every brace by its rule, and inputs as the instrument counts them', () => {
    const both = compileTemplate('SET {celsius},{current} (@{input})', command, inputs)
    expect(both({ celsius: 25, current: 1.5, input: 8 })).toBe('SET 25.00,1.50E-3 (@07)')
    expect(compileTemplate('{celsius}', command, undefined)({ celsius: -0.125 })).toBe('-0.13')
    expect(compileTemplate('RUN', command, undefined)({})).toBe('RUN')
    expect(compileTemplate('A{celsius}{celsius}', command, undefined)({ celsius: 1 })).toBe('A1.001.00')
  })

  it('refuses what is missing, outside its limits or not an input', () => {
    const line = compileTemplate('S {celsius} {input}', command, inputs)
    expect(() => line({ input: 1 })).toThrow('celsius is missing')
    expect(() => line({ celsius: 151, input: 1 })).toThrow('above the limit of 150')
    expect(() => line({ celsius: -20.01, input: 1 })).toThrow('below the limit of -20')
    expect(() => line({ celsius: 20, input: 21 })).toThrow('1 to 20')
    expect(line({ celsius: -20, input: 20 })).toBe('S -20.00 19')
  })
})
