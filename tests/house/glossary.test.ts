import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'
import { GLOSSARY, GLOSSARY_PARTS, glossaryPage } from '../../app/words/glossary.ts'

const ROOT = fileURLToPath(new URL('../../', import.meta.url))
/** Wordings that were given up for plainer ones; whoever types one again is told here. */
const GIVEN_UP = [
  ...[
    'No result comes from an external',
    'there were no deviations',
    'by what right)',
    'How still the reference stood',
  ],
  ...[
    'Bridge: resolution of ratio',
    'Platinum (PRT)',
    'Other side:',
    'Standard uncertainty of that',
    'Way of the wire',
  ],
  ...[
    'With its own uncertainty, the slope',
    'Drift may be as much',
    'what is there is shown',
    'Linearity that this check',
  ],
  ...[
    'No thermometer of the scale',
    'Its temperature is believed',
    'Reference of the ratio',
    'Take off the bench',
  ],
  ...[
    'Look what answers',
    'I know, and take it on',
    'To be read and taken on',
    'Leave as it is',
    'I have seen it',
  ],
  ...[
    'Take into the register',
    'it is setting',
    '(complete-with-marks)',
    'Invalid input',
    'has been recorded since',
  ],
  ...['Tell another program', 'never kept here', 'nothing usable for', 'does not begin as it should'],
  ...['Holds from', 'Holds to', 'Due again', 'Kept at', 'Country code', 'Between points', 'Behind it'],
  ...["'Worth'", "'Spread'", "'How grave'", "'A person'", 'Find a instrument', 'tried with --settings'],
  ...['of 4 that limits need', 'parts in a million', "'u of ", "'u for "],
]

const terms = GLOSSARY_PARTS.flatMap((part) => GLOSSARY[part])

function texts(folder: string, ending: RegExp): [string, string][] {
  return readdirSync(join(ROOT, folder), { recursive: true, encoding: 'utf8' })
    .filter((name) => ending.test(name))
    .map((name) => [`${folder}/${name}`, readFileSync(join(ROOT, folder, name), 'utf8')])
}

describe('glossary', () => {
  it('is the page of the guide, word for word', () => {
    // node -e "import('./app/words/glossary.ts').then(g => process.stdout.write(g.glossaryPage()))" > docs/glossary.md
    expect(readFileSync(join(ROOT, 'docs/glossary.md'), 'utf8')).toBe(glossaryPage())
  })

  it('has each term once, in a sentence', () => {
    expect(new Set(terms.map(({ term }) => term)).size).toBe(terms.length)
    for (const { term, words } of terms) expect(words, term).toMatch(/^\p{Lu}.*\.$/u)
  })

  it('names words that neither window nor guide uses', () => {
    const all = [...texts('renderer', /\.tsx?$/), ...texts('docs', /^[a-z-]+\.md$/)]
    expect(all.length).toBeGreaterThan(200)
    const avoided = terms.flatMap(({ not }) => not ?? [])
    expect(avoided.length).toBeGreaterThan(5)
    const found = all.flatMap(([name, text]) =>
      avoided.filter((words) => text.toLowerCase().includes(words)).map((words) => `${name}: ${words}`),
    )
    expect(found).toEqual([])
  })

  it('has no wording back that was given up, in window, papers or station', () => {
    const all = ['renderer', 'app', 'main', 'drivers'].flatMap((folder) => texts(folder, /\.tsx?$/))
    expect(all.length).toBeGreaterThan(600)
    const found = all.flatMap(([name, text]) =>
      GIVEN_UP.filter((words) => text.includes(words)).map((words) => `${name}: ${words}`),
    )
    expect(found).toEqual([])
  })
})
