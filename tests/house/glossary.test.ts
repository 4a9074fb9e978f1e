import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'
import { GLOSSARY, GLOSSARY_PARTS, glossaryPage } from '../../app/words/glossary.ts'

const ROOT = fileURLToPath(new URL('../../', import.meta.url))
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
})
