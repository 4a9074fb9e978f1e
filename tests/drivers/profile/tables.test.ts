import { describe, expect, it } from 'vitest'
import { loadProfiles } from '../../../drivers/index.ts'
import { checkLimits, printInput, printParameter, TemplateError } from '../../../drivers/profile/template.ts'

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
    expect(() => printParameter('on', 5, rule)).toThrow('it may be on, off')
  })
})
