import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { Concerned } from '../mutants/concerned.ts'
import { Covered, digest, type Range } from '../mutants/covered.ts'
import { SAME } from '../mutants/same.ts'
import { changed, sitesOf } from '../mutants/sites.ts'
import { tablesOf } from '../mutants/table.ts'

const TEXT = `import { x } from './x.ts'
const LOOK_MS = 5000
type Pair = 1 | 2
export function judge(a: number, ok: boolean): number {
  if (a < 3 && !ok) throw new Error('less than ' + a)
  tell('a' + a)
  for (const b of [a].filter(Boolean)) tell(ok ? b : 0)
  return Math.max(a, 0) - 1
}
`

describe('sitesOf', () => {
  it('changes what decides and computes, and leaves sentences, types and lengths of time alone', () => {
    const what = sitesOf(TEXT, 'judge.ts').map((site) => site.what)
    expect(what).toEqual([
      'a condition that never holds',
      'a condition that always holds',
      '&& to ||',
      '< to <=',
      '< to >=',
      '3 to 4',
      'without !',
      'without tell()',
      'without .filter()',
      'an empty list',
      'without tell()',
      'a condition that never holds',
      'a condition that always holds',
      '0 to 1',
      '- to +',
      'max to min',
      '0 to 1',
      '1 to 2',
    ])
  })

  it('changes one place at a time', () => {
    for (const site of sitesOf(TEXT, 'judge.ts')) {
      const text = changed(TEXT, site)
      expect(text).not.toBe(TEXT)
      expect(text.length - TEXT.length).toBe(site.instead.length - (site.end - site.start))
    }
  })
})

describe('Concerned', () => {
  it('finds the tests that reach a file, and over how many steps', () => {
    const root = mkdtempSync(join(tmpdir(), 'concerned-'))
    const write = (path: string, text: string) => {
      mkdirSync(dirname(join(root, path)), { recursive: true })
      writeFileSync(join(root, path), text)
    }
    write('app/a.ts', "import { b } from './b.ts'\n")
    write('app/b.ts', '')
    write('tests/app/a.test.ts', "import { a } from '../../app/a.ts'\n")
    write('tests/app/b.test.ts', "import { b } from '../../app/b.ts'\n")
    write('tests/app/c.test.ts', '')
    const concerned = new Concerned(root, [
      'tests/app/a.test.ts',
      'tests/app/b.test.ts',
      'tests/app/c.test.ts',
    ])
    expect([...concerned.of('app/b.ts')]).toEqual([
      ['tests/app/a.test.ts', 2],
      ['tests/app/b.test.ts', -10],
    ])
    expect([...concerned.of('app/a.ts')]).toEqual([['tests/app/a.test.ts', -10]])
    rmSync(root, { recursive: true })
  })
})

describe('Covered', () => {
  const ranges: Range[] = [
    [0, 100, 1],
    [10, 50, 1],
    [20, 30, 0],
  ]
  const covered = new Covered(
    [
      { test: 'a.test.ts', held: { 'app/a.ts': 'then' }, files: { 'app/a.ts': [ranges] } },
      { test: 'b.test.ts', held: {}, files: { 'app/a.ts': [ranges] } },
    ],
    new Map([['a.test.ts', 2]]),
    () => 'then',
  )

  it('names the tests that ran a place, by the innermost of its ranges', () => {
    expect(covered.at('app/a.ts', 15)).toEqual([{ test: 'a.test.ts', seconds: 2 }])
    expect(covered.at('app/a.ts', 25)).toEqual([])
    expect(covered.at('app/a.ts', 60)).toHaveLength(1)
    expect(covered.at('app/b.ts', 15)).toEqual([])
  })

  it('counts what another process of the test ran', () => {
    const both = new Covered(
      [{ test: 'a.test.ts', held: { 'app/a.ts': 'then' }, files: { 'app/a.ts': [ranges, [[0, 100, 1]]] } }],
      new Map([['a.test.ts', 2]]),
      () => 'then',
    )
    expect(both.at('app/a.ts', 25)).toHaveLength(1)
  })

  it('leaves out a test that did not pass with nothing changed', () => {
    expect(covered.at('app/a.ts', 15).map(({ test }) => test)).not.toContain('b.test.ts')
  })

  it('takes a file that was changed since for run wherever it was loaded', () => {
    const since = new Covered(
      [{ test: 'a.test.ts', held: { 'app/a.ts': 'then' }, files: { 'app/a.ts': [ranges] } }],
      new Map([['a.test.ts', 2]]),
      () => 'now',
    )
    expect(since.at('app/a.ts', 25)).toHaveLength(1)
  })

  it('runs the tests that are new or changed, and those only', () => {
    const root = mkdtempSync(join(tmpdir(), 'covered-'))
    const kept = join(root, 'kept')
    const put = (test: string, text: string) => writeFileSync(join(root, test), text)
    const asked: string[][] = []
    const of = () =>
      Covered.of(root, kept, ['a.test.ts', 'b.test.ts'], (tests) => {
        asked.push([...tests])
        for (const test of tests)
          writeFileSync(
            join(kept, `${test}.ran`),
            JSON.stringify({
              test,
              held: { [test]: digest(readFileSync(join(root, test), 'utf8')) },
              files: {},
            }),
          )
        return tests.map((test) => ({ test, seconds: 1 }))
      })
    put('a.test.ts', 'a')
    put('b.test.ts', 'b')
    of()
    of()
    put('b.test.ts', 'other')
    expect(of().timed('b.test.ts').seconds).toBe(1)
    expect(asked).toEqual([['a.test.ts', 'b.test.ts'], ['b.test.ts']])
    rmSync(root, { recursive: true })
  })
})

describe('SAME', () => {
  it('lists places that are there, each with its reason', () => {
    for (const { file, what, line, why } of SAME) {
      const text = readFileSync(join(import.meta.dirname, '../..', file), 'utf8')
      const lines = text.split('\n')
      const found = sitesOf(text, file).some(
        (site) =>
          site.what === what && lines[text.slice(0, site.start).split('\n').length - 1]!.trim() === line,
      )
      expect(found, `${file}: ${what}: ${line}`).toBe(true)
      expect(why.length).toBeGreaterThan(20)
    }
  })
})

describe('tablesOf', () => {
  it('counts by room and by kind, and names what nothing noticed', () => {
    const text = tablesOf(7, [
      { file: 'app/a/x.ts', line: 3, what: '1.5 to 1.65', by: 'unnoticed' },
      { file: 'app/a/y.ts', line: 4, what: '< to <=', by: 'test' },
      { file: 'main/b/z.ts', line: 5, what: 'without tell()', by: 'compiler' },
    ])
    expect(text).toContain('Noticed: 2 of 3.')
    expect(text).toContain('| app/a | 2 | 0 | 1 | 1 |')
    expect(text).toContain('| main/b | 1 | 1 | 0 | 0 |')
    expect(text).toContain('| a limit | 1 | 0 | 1 | 0 |')
    expect(text).toContain('| a number | 1 | 0 | 0 | 1 |')
    expect(text).toContain('| a call left out | 1 | 1 | 0 | 0 |')
    expect(text).toContain('- app/a/x.ts:3 1.5 to 1.65')
  })
})
