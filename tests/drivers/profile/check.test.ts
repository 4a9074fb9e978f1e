import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { checkProfile, tellProblem } from '../../../drivers/profile/check.ts'
import { JsonLines, placeOf } from '../../../drivers/profile/json-lines.ts'

const text = readFileSync(new URL('../../../drivers/profiles/lab-tb-1.json', import.meta.url), 'utf8')

/** The problems of the profile after one change, with the line that was changed. */
function changed(from: string, to: string): { problems: string[]; line: number } {
  expect(text).toContain(from)
  const line = text.slice(0, text.indexOf(from)).split('\n').length
  const result = checkProfile(text.replace(from, to), 'x.json')
  return { problems: result.ok ? [] : result.problems.map(tellProblem), line }
}

describe('checkProfile', () => {
  it('takes a profile that ships', () => expect(checkProfile(text, 'x.json').ok).toBe(true))

  it.each([
    ['a word that does not exist', '"title":', '"titel":'],
    ['a value outside the list', '"risk": "hazardous"', '"risk": "hot"'],
    ['a wrong type', '"gapMs": 50', '"gapMs": "50"'],
    ['a regular expression that is none', '"^OK$"', '"^OK($"'],
    ['a doc that says nothing', '"doc": "The temperature of the bath, by its control sensor."', '"doc": ""'],
    ['a capability the role does not have', '"output": [', '"measure": ['],
    [
      'a name that leads nowhere',
      '"read-temperature": ["temperature"]',
      '"read-temperature": ["thermometer"]',
    ],
    ['a hazardous number without limits', '"low": -20,', ''],
    ['an unknown mark', '"mark": "instrument-error"', '"mark": "broken"'],
  ])('points at the line of %s', (_what, from, to) => {
    const { problems, line } = changed(from, to)
    expect(problems.length).toBeGreaterThan(0)
    const lines = problems.map((each) => Number(/^x\.json:(\d+):\d+: /.exec(each)?.[1]))
    expect(lines.some((each) => Math.abs(each - line) <= 3)).toBe(true)
  })

  it('points at the line where the text stops being JSON', () => {
    const cut = text.split('\n').slice(0, 40).join('\n')
    const result = checkProfile(`${cut}\n  oops`, 'x.json')
    expect(result.ok ? '' : tellProblem(result.problems[0]!)).toMatch(/^x\.json:4[01]:\d+: not JSON: /)
  })

  it('never throws, whatever the file holds', () => {
    fc.assert(
      fc.property(fc.oneof(fc.string(), fc.json()), (anything) => {
        const result = checkProfile(anything, 'x.json')
        expect(result.ok).toBe(false)
      }),
      { numRuns: 600 },
    )
    fc.assert(
      fc.property(
        fc.nat({ max: text.length - 1 }),
        fc.constantFrom('', '0', '"', ',', '}', 'x'),
        (at, put) => {
          const result = checkProfile(text.slice(0, at) + put + text.slice(at + 1), 'x.json')
          if (!result.ok) for (const each of result.problems) expect(each.line).toBeGreaterThan(0)
        },
      ),
      { numRuns: 400 },
    )
  })
})

describe('JsonLines', () => {
  it('knows the place of every value', () => {
    const lines = new JsonLines('{\n "a": [1,\n  {"b\\"c": 2}\n ],\n "d": "x"\n}')
    const at = (...path: (string | number)[]) => Object.values(lines.placeOf(path)).join(':')
    expect(at('a')).toBe('2:2')
    expect(at('a', 1)).toBe('3:3')
    expect(at('a', 1, 'b"c')).toBe('3:4')
    expect(at('d')).toBe('5:2')
    expect(at('d', 'nowhere')).toBe('5:2')
    expect(at('missing')).toBe('1:1')
  })
})

describe('placeOf', () => {
  it('counts lines and columns from 1', () => {
    const source = 'ab\n\ncd'
    expect([0, 1, 2, 3, 4, 5].map((offset) => Object.values(placeOf(source, offset)).join(':'))).toEqual([
      ...['1:1', '1:2', '1:3', '2:1', '3:1', '3:2'],
    ])
  })
})

describe('checkProfile on format 2', () => {
  const BASE = {
    format: 'stillpoint profile 2',
    id: 'x',
    title: 'x',
    role: 'meter',
    unit: 'ohm',
    language: 'plain',
    framing: { send: '\n', receive: '\n', blocks: true, characters: 'latin1' },
    identity: { ask: 'who', pattern: '.' },
    commands: {
      who: { doc: 'Who it is.', send: '*IDN?', risk: 'read-only', answer: { kind: 'text' } },
      status: { doc: 'The status.', send: 'S?', risk: 'read-only', answer: { kind: 'bits' } },
      go: { doc: 'Goes.', send: 'GO', risk: 'setting' },
      heat: { doc: 'Heats.', send: 'HEAT', risk: 'hazardous' },
      range: {
        doc: 'The range.',
        send: 'RANGE {range}',
        risk: 'setting',
        parameters: { range: { words: { low: '1' } } },
      },
      read: { doc: 'Reads.', send: 'R?', risk: 'read-only', answer: { kind: 'value', unit: 'ohm' } },
    },
    ranges: [{ name: 'low', upTo: 10 }],
    capabilities: {
      measure: ['go', { repeat: ['go'], until: { ask: 'status', set: 1 }, most: 3 }, 'read'],
      'set-range': ['range'],
    },
  }

  type Path = readonly (string | number)[]
  interface Node {
    [key: string | number]: Node
  }

  /** The problems after one place was changed (or removed), and where in the text the word stands that they must point at. */
  function told(path: Path, value: unknown, word: string) {
    const profile = structuredClone(BASE) as unknown as Node
    let node = profile
    for (const key of path.slice(0, -1)) node = node[key]!
    const last = path.at(-1)!
    if (value === undefined) delete node[last]
    else node[last] = value as Node
    const source = JSON.stringify(profile, null, 2)
    const offset = source.indexOf(word)
    expect(offset).toBeGreaterThan(0)
    const before = source.slice(0, offset)
    const place = `${before.split('\n').length}:${offset - before.lastIndexOf('\n')}`
    const result = checkProfile(source, 'x.json')
    const problems = result.ok ? [] : result.problems.map(tellProblem)
    return { problems: problems.map((each) => each.replace('x.json:', '')), place }
  }

  it('takes it as it is', () => expect(told(['id'], 'x', '"id"').problems).toEqual([]))

  const loop = ['capabilities', 'measure', 1] as const
  const answer = ['commands', 'read', 'answer'] as const
  it.each<[what: string, path: Path, value: unknown, word: string, words: string]>([
    [
      'a trigger that has an answer',
      ['commands', 'read', 'trigger'],
      true,
      '"trigger"',
      'a trigger carries no parameters',
    ],
    ['a word that no step has', [...loop, 'untill'], 1, '"untill"', 'not a word'],
    ['a loop without an end', [...loop, 'most'], undefined, '{\n        "repeat"', 'most is missing'],
    [
      'a command in a loop that is not there',
      [...loop, 'repeat', 0],
      'fly',
      '"fly"',
      'no command named "fly"',
    ],
    ['a condition that changes', [...loop, 'until', 'ask'], 'go', '"ask": "go"', 'does not only read'],
    ['bits asked for text', [...loop, 'until', 'equals'], '1', '"ask": "status"', '"equals" is for texts'],
    [
      'a condition that wants nothing',
      [...loop, 'until', 'set'],
      undefined,
      '"ask": "status"',
      'needs "set"',
    ],
    ['a name in capitals', ['capabilities', 'measure', 2], 'Read', '"Read"', 'lower-case words'],
    ['a silence of no length', ['framing', 'receive'], { silenceMs: 0 }, '"silenceMs"', 'above 0'],
    ['a silence of no length at the end', ['timing'], { quietMs: 0 }, '"quietMs"', 'must be above 0'],
    ['a division by nothing', [...answer, 'linear'], { over: 0 }, '"over"', 'must not be 0'],
    ['no block', [...answer, 'numbers'], { type: 'int16', order: 'big' }, '"numbers"', 'come in a block'],
    ['no separator', [...answer, 'many'], { of: 'moments' }, '"many"', 'need "separator"'],
    ['a range without a word', ['ranges', 1], { name: 'high' }, '"name": "high"', 'no word for the range'],
    [
      'a word without a range',
      ['commands', 'range', 'parameters', 'range', 'words', 'odd'],
      '9',
      '"odd"',
      'no range "odd"',
    ],
    [
      'a part without what it needs',
      ['parts'],
      { b: { title: 'b', role: 'scanner', capabilities: { select: ['go'] } } },
      '"role": "scanner"',
      'needs "inputs"',
    ],
    [
      'a preparation that heats',
      ['prepare'],
      [{ when: { ask: 'who', equals: 'x' }, do: ['heat'] }],
      '"heat"\n',
      'never sent without being asked for',
    ],
    ['words of format 2 in format 1', ['format'], 'stillpoint profile 1', '"ranges"', 'needs "format"'],
    [
      'requests that never come',
      ['commands', 'read', 'poll'],
      { everyMs: 1, longestMs: 1, onRequest: true },
      '"onRequest"',
      '"serviceRequests": true',
    ],
    [
      'a telegram without a value',
      ['stream'],
      { pattern: '^x$', longestSilenceS: 1, freshS: 1 },
      '"pattern": "^x$"',
      'needs the group "value"',
    ],
    [
      'an unknown type of register',
      ['registers'],
      { a: { table: 'input', address: 0, type: 'float16' } },
      '"type": "float16"',
      'registers.a.type',
    ],
  ])('points at %s', (_what, path, value, word, words) => {
    const { problems, place } = told(path, value, word)
    const here = problems.filter((each) => each.startsWith(`${place}: `))
    expect(here.join('\n') || `elsewhere: ${problems.join('\n')}`).toContain(words)
    expect(here).not.toEqual([])
  })

  it('does not walk into a file that is nested without end, and takes no brace in a text for one', () => {
    const levels = (count: number) => {
      let step = '"read"'
      for (let i = 0; i < count; i++) step = `{"repeat": [${step}], "most": 1}`
      const source = JSON.stringify({ ...BASE, about: '{[\\"{['.repeat(50) })
      const result = checkProfile(source.replace('"measure":[', `"measure":[${step},`), 'x.json')
      return result.ok ? '' : tellProblem(result.problems[0]!)
    }
    expect(levels(10)).toBe('')
    expect(levels(20_000)).toMatch(/^x\.json:1:\d+: braces and brackets are nested more than 40 deep/)
  })
})
