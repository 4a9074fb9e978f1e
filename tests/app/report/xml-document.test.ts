import { execFileSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { documentText, escapeMarkup } from '../../../app/base/markup.ts'
import { xmlDocument } from '../../../app/report/xml-document.ts'

// What a person may have typed as a name, against a reader that nobody here wrote: xmllint, of libxml2.

const HARD = [
  '&name; &#0; &amp; &lt; &',
  '<b>"quoted"</b> \'single\' ]]> <!-- -- --> <?pi?>',
  'control \u0000 \u0001 \u0008 \u000b \u001f \u007f \u0085',
  'right to left \u202e mark \u200f \u2066 isolate \u2069',
  'half a pair \ud83d, the other \ude00, whole \u{1f600}',
  'no characters \ufffe \uffff',
  'line\r\nbreaks\rand\ttabs',
  '=SUM(A1) @x +1 -1',
]

function hasXmllint(): boolean {
  try {
    execFileSync('xmllint', ['--version'], { stdio: 'ignore' })
    return true
  } catch {
    console.warn(
      'xmllint is not installed: it is in the package libxml2-utils of Debian. Names are not read back here.',
    )
    return false
  }
}

/** The texts and attributes of a document as xmllint has read them, in turn. */
function readBack(xml: string, count: number): { texts: string[]; attributes: string[] } {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-xml-'))
  const file = join(folder, 'names.xml')
  try {
    writeFileSync(file, xml)
    const ask = (query: string) =>
      execFileSync('xmllint', ['--nonet', '--xpath', query, file], { encoding: 'utf8', maxBuffer: 1 << 26 })
    const texts: string[] = []
    const attributes: string[] = []
    for (let i = 1; i <= count; i++) {
      texts.push(ask(`string(/names/n[${i}])`).slice(0, -1))
      attributes.push(ask(`string(/names/n[${i}]/@v)`).slice(0, -1))
    }
    return { texts, attributes }
  } finally {
    rmSync(folder, { recursive: true })
  }
}

const documentOf = (names: readonly string[]) =>
  xmlDocument({ names: { n: names.map((name) => ({ '@v': name, '#': name })) } })

/** XML 1.0, 3.3.3: a line feed or a tab in an attribute is read as a blank. */
const blanks = (text: string) => text.replace(/[\n\t]/g, ' ')

describe.skipIf(!hasXmllint())('xmlDocument', () => {
  it('keeps hard names as they are, but for what XML has no character for', () => {
    const { texts, attributes } = readBack(documentOf(HARD), HARD.length)
    expect(texts).toEqual(HARD.map(documentText))
    expect(attributes).toEqual(HARD.map((name) => blanks(documentText(name))))
  })

  it('is well-formed whatever 8,000 names of all of Unicode, halves of pairs among them, are', () => {
    const folder = mkdtempSync(join(tmpdir(), 'stillpoint-xml-'))
    const unit = fc.oneof(
      fc.integer({ min: 0, max: 0xffff }).map((code) => String.fromCharCode(code)),
      fc.constantFrom('&', ';', '<', '>', '"', "'", ']]>', '&#', '&amp;', '--', '\u202e', '\u0000'),
    )
    const names = fc.array(
      fc.array(unit, { maxLength: 12 }).map((parts) => parts.join('')),
      {
        minLength: 2000,
        maxLength: 2000,
      },
    )
    try {
      fc.assert(
        fc.property(names, (some) => {
          const file = join(folder, 'names.xml')
          writeFileSync(file, documentOf(some))
          execFileSync('xmllint', ['--nonet', '--noout', file], { stdio: 'pipe' })
        }),
        { numRuns: 4 },
      )
    } finally {
      rmSync(folder, { recursive: true })
    }
  })

  it('reads back as typed', () => {
    const name = fc.string({ unit: 'binary', minLength: 1, maxLength: 20 })
    fc.assert(
      fc.property(fc.array(name, { minLength: 5, maxLength: 5 }), (some) => {
        const { texts } = readBack(documentOf(some), some.length)
        expect(texts).toEqual(some.map(documentText))
      }),
      { numRuns: 4 },
    )
  })
})

describe('escapeMarkup', () => {
  it('leaves nothing that could begin a tag, a reference or an end of a quote', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), (text) => {
        expect(escapeMarkup(text)).not.toMatch(/[<>"'`]|&(?!#\d+;)/)
      }),
      { numRuns: 5000 },
    )
  })

  it('keeps marks of direction and replaces what no document can hold', () => {
    expect(escapeMarkup('a\u202eb\u0000c\ud800')).toBe('a\u202eb\ufffdc\ufffd')
  })
})
