import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { loadProfiles } from '../../../drivers/index.ts'
import { Guard } from '../../../drivers/profile/guard.ts'

const library = await loadProfiles()
const guardOf = (id: string) => new Guard(library.profiles.get(id)!.profile)
const narrow = { celsius: { low: 0, high: 60 } }

describe('Guard on a bath that speaks SCPI', () => {
  const guard = guardOf('lab-tb-2')
  it.each([
    '*IDN?',
    'SENS:TEMP?',
    'SYST:VERS?',
    'SOUR:TEMP:SPO 50',
    'source:temperature:spoint 59.999',
    'OUTP OFF',
    '*CLS;SENS:TEMP?',
  ])('lets %j pass', (line) => expect(guard.judge(line, narrow).allowed).toBe(true))

  it.each([
    ['SOUR:TEMP:SPO 61', 'above the limit of 60 degC'],
    ['SOUR:TEMP:SPO 400', 'above the limit of 150 degC'],
    [':SOURCE:TEMPERATURE:SPOINT -0.5', 'below the limit of 0 degC'],
    ['SOUR:TEMP:SPO 20;SPO 400', 'above the limit'],
    ['*IDN?;:SOUR:TEMP:SPO 400', 'above the limit'],
    ['SOUR:TEMP:SPO 350 K', 'not a plain number'],
    ['SOUR:TEMP:SPO MAX', 'not a plain number'],
    ['SOUR:TEMP:SPO 1E3', 'above the limit'],
    ['SOUR:TEMP:SPO INF', 'not a plain number'],
    ['SOUR:TEMP:SPO', 'cannot be read'],
    ['SOUR:TEMP:LIM:HIGH 300', 'not in the profile'],
    ['*RST', 'not in the profile'],
    ['OUTP MAYBE', 'may be ON or OFF'],
    ['SENS:TEMP?\nSOUR:TEMP:SPO 400', 'printable'],
    ['', 'nothing to send'],
  ])('refuses %j: %s', (line, words) => {
    const verdict = guard.judge(line, narrow)
    expect(verdict.allowed ? '' : verdict.sentence).toContain(words)
  })

  it('lets no setpoint outside the limits pass, however it is written', () => {
    const spelling = fc.constantFrom(
      'SOUR:TEMP:SPO',
      ':sour:temp:spo',
      'SOURCE:TEMPERATURE:SPOINT',
      'Sour:Temperature:Spo',
    )
    const number = fc.double({ min: -1e6, max: 1e6, noNaN: true }).filter((each) => each < 0 || each > 60)
    const print = fc.constantFrom(
      (value: number) => String(value),
      (value: number) => value.toExponential(),
      (value: number) => `+${value}`.replace('+-', '-'),
    )
    const blanks = fc.constantFrom(' ', '   ', '\t').filter((each) => each !== '\t')
    fc.assert(
      fc.property(spelling, number, print, blanks, (header, value, write, blank) => {
        expect(guard.judge(`${header}${blank}${write(value)}`, narrow).allowed).toBe(false)
      }),
      { numRuns: 5000 },
    )
  })
})

describe('Guard on a bath with a language of its own', () => {
  const guard = guardOf('lab-tb-1')
  it.each(['SP?', 'PV?', 'SP=37,50', 'HT=0', 'UN=C', 'RA?'])('lets %j pass', (line) =>
    expect(guard.judge(line, narrow).allowed).toBe(true),
  )
  it.each(['SP=61,00', 'SP=999,00', 'sp=999,00', 'SP = 999,00', 'SP=37.50.1', 'UN=F', 'RA=9,99', 'HT=2'])(
    'refuses %j',
    (line) => expect(guard.judge(line, narrow).allowed).toBe(false),
  )
})

describe('Guard on bridges and scanners', () => {
  it('holds the limits of measuring and keep-warm currents in their own unit', () => {
    const bridge = guardOf('lab-rb-8')
    expect(bridge.judge('SOUR:CURR 1E-3').allowed).toBe(true)
    expect(bridge.judge('SOUR:CURR 5E-3').allowed).toBe(true)
    expect(bridge.judge('SOUR:CURR 5.01E-3').allowed).toBe(false)
    expect(bridge.judge('SOUR:CURR:KEEP 20E-3,(@2)').allowed).toBe(false)
    expect(guardOf('lab-rb-3').judge('CU 9').allowed).toBe(false)
    expect(guardOf('lab-cs-32').judge('K07,9999').allowed).toBe(false)
    expect(guardOf('lab-cs-32').judge('K07,0500').allowed).toBe(true)
  })
  it('tells whether an answer is to be waited for', () => {
    expect(guardOf('lab-rb-8').judge('INIT')).toMatchObject({ replies: 0, changes: true })
    expect(guardOf('lab-rb-8').judge('FETC?')).toMatchObject({ replies: 1, changes: false })
    expect(guardOf('lab-cs-32').judge('C07')).toMatchObject({ replies: 1, changes: true })
  })
})
