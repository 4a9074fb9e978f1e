import { describe, expect, it } from 'vitest'
import {
  eventOf,
  MESSAGES,
  messageIn,
  said,
  sentenceOf,
  TABLES,
  wordsIn,
} from '../../../app/messages/said.ts'

/** A made-up language, a third longer than English: every pattern with its arguments kept and its words stretched. */
const LONG = Object.fromEntries(
  Object.entries(MESSAGES).map(([code, pattern]) => [
    code,
    pattern.replaceAll(/(\{\w+\})|([a-zA-Z]+)/g, (word, argument: string | undefined) =>
      argument ? argument : `${word}${'ö'.repeat(Math.ceil(word.length / 3))}`,
    ),
  ]),
)

describe('messages of the record', () => {
  it('make the sentence from the code and its arguments, also one within another', () => {
    const setpoint = said('setpoint', { n: '3', celsius: '50 °C' })
    const skipped = said('setpoint-skipped-because', {
      setpoint,
      who: 'M. Ode',
      why: 'the stirrer <stopped>, {twice}',
    })
    expect(skipped.words).toBe('Setpoint 3, 50 °C, skipped by M. Ode: the stirrer <stopped>, {twice}')
    expect(skipped.args.setpoint).toEqual({ code: 'setpoint', args: { n: '3', celsius: '50 °C' } })
    expect(said('clock-back', { time: '2 h' }).words).toBe(
      "The computer's clock was set back by 2 h, or the computer slept.",
    )
  })

  it('are well formed, each of them, and use every argument', () => {
    for (const [code, pattern] of Object.entries(MESSAGES)) {
      const names = [...pattern.matchAll(/\{(\w+)\}/g)].map(([, name]) => name!)
      const args = Object.fromEntries(names.map((name) => [name, `<${name}>`]))
      const sentence = sentenceOf({ code, args })!
      for (const name of names) expect(sentence, code).toContain(`<${name}>`)
      expect(sentence, code).not.toMatch(/[{}]/)
    }
  })

  it('have each their own code, whatever table they stand in', () => {
    const codes = TABLES.flatMap((table) => Object.keys(table))
    expect(codes.filter((code, i) => codes.indexOf(code) !== i)).toEqual([])
    expect(Object.keys(MESSAGES)).toHaveLength(codes.length)
    for (const code of codes) expect(code).toMatch(/^[a-z0-9]+(-[a-z0-9]+)*$/)
  })

  it('are said in another language, each of them, with nothing left as it was but what stands for itself', () => {
    for (const [code, pattern] of Object.entries(MESSAGES)) {
      const names = [...pattern.matchAll(/\{(\w+)\}/g)].map(([, name]) => name!)
      const args = Object.fromEntries(names.map((name) => [name, '1']))
      const english = sentenceOf({ code, args })!
      const long = sentenceOf({ code, args }, LONG, 'de')!
      if (/[a-zA-Z]/.test(pattern.replaceAll(/\{\w+\}/g, ''))) expect(long, code).not.toBe(english)
      else expect(long, code).toBe(english)
    }
  })

  it('are kept with their event, and said again in another language from what was kept', () => {
    const setpoint = said('setpoint-of', { n: '1', count: '5', celsius: '15 °C' })
    const made = eventOf({ kind: 'plan-step', said: said('setting-bath', { setpoint }), data: { step: 0 } })
    expect(made).toMatchObject({ who: 'station', subject: null, data: { step: 0 } })
    const kept = JSON.parse(JSON.stringify(made)) as typeof made
    expect(sentenceOf(messageIn(kept)!)).toBe(kept.words)
    expect(wordsIn(kept, LONG, 'de')).toBe('Setpointööö 1 ofö 5, 15 °C: settingööö theö bathöö.')
  })

  it('leave a sentence of the time before them as it stands, and one whose code is not known', () => {
    const before = { words: 'Settled after 12 min.', data: { phase: 'measuring' } }
    expect(messageIn(before)).toBeUndefined()
    expect(wordsIn(before, LONG, 'de')).toBe(before.words)
    const later = { words: 'Something new.', data: { said: { code: 'not-yet', args: {} } } }
    expect(wordsIn(later, LONG, 'de')).toBe(later.words)
    const within = {
      words: 'X',
      data: { said: { code: 'note', args: { words: { code: 'not-yet', args: {} } } } },
    }
    expect(wordsIn(within, LONG, 'de')).toBe('X')
  })
})
