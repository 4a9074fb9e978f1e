import { execFileSync, spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import path from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import type { LANGUAGES } from '../../../../app/records/certificate.ts'
import { buildCertificate } from '../../../../app/report/certificate/build.ts'
import { printableCertificate } from '../../../../app/report/certificate/head.ts'
import { itemCsv } from '../../../../app/report/certificate/item-csv.ts'
import { en, type MessageKey, type Messages } from '../../../../app/report/certificate/messages/en.ts'
import { CATALOG } from '../../../../app/report/certificate/speaker.ts'
import { analyse } from '../../../../app/results/analysis.ts'
import { type BudgetTemplate, templateFor } from '../../../../app/results/uncertainty-template.ts'
import { printPdf } from '../../../../main/study/report/pdf.ts'
import { simulate } from '../../../report/fixture.ts'

const folder = mkdtempSync(path.join(tmpdir(), 'languages-'))
afterAll(() => rmSync(folder, { recursive: true }))
const hasPdftotext = spawnSync('pdftotext', ['-v']).error === undefined
if (!hasPdftotext) console.warn('pdftotext is not installed: pages of certificates are not read here.')

const lengthened = (text: string) =>
  text.replace(/\{\w+\}|\p{L}{4,}/gu, (word) =>
    word.startsWith('{') ? word : `ŧ${word}${word.slice(0, Math.ceil(word.length / 2))}`,
  )

/** A made-up language: every word half as long again, and marked, so that what is left in English shows. */
const long = Object.fromEntries(
  Object.entries(en).map(([key, text]) => [
    key,
    // Messages with a choice in them are left: their words are the library's as well.
    /select|plural/.test(text) ? text : lengthened(text),
  ]),
) as Messages

type Language = (typeof LANGUAGES)[number]
function certificateIn(
  languages: Language[],
  catalog = CATALOG,
  decimalSign?: '.' | ',',
  budgets?: BudgetTemplate[],
) {
  const { input } = simulate({ seed: 2, cell: 'none', setpoints: [0, 25, 50, 75, 100] })
  const thermometer = input.setup.register.thermometers.find((t) => t.id === 'prt-x1')!
  thermometer.construction = 'film'
  input.setup.job!.wishes = {
    'prt-x1': {
      conformity: { class: 'B', rule: 'guarded' },
      languages,
      decimalSign,
      budget: budgets !== undefined,
    },
  }
  const analysis = analyse({ ...input, options: { monteCarloTrials: 0, templates: budgets ?? [] } })
  const result = analysis.thermometers[0]!
  const { certificate, say } = buildCertificate(analysis, result, catalog)
  return { certificate, result, printable: printableCertificate(certificate, say) }
}

async function pagesOf(languages: Language[], paper: 'A4' | 'Letter', catalog = CATALOG): Promise<string[]> {
  const { printable } = certificateIn(languages, catalog)
  const file = path.join(folder, 'c.pdf')
  writeFileSync(file, await printPdf({ ...printable, status: 'signed' }, paper))
  return execFileSync('pdftotext', ['-raw', file, '-'], { encoding: 'utf8' }).split('\f').slice(0, -1)
}

describe('the languages of a certificate', () => {
  it.runIf(hasPdftotext)(
    'leave it at most three pages for an industrial thermometer at five points',
    async () => {
      for (const languages of [['en'], ['en', 'fr'], ['de', 'es']] as Language[][])
        for (const paper of ['A4', 'Letter'] as const)
          expect((await pagesOf(languages, paper)).length, `${languages} ${paper}`).toBeLessThanOrEqual(3)
    },
  )

  it.runIf(hasPdftotext)('cut nothing of a longer one, and leave nothing in English', async () => {
    const text = (await pagesOf(['en'], 'A4', { ...CATALOG, en: long })).join(' ').replace(/[\s\u200b]/g, '')
    for (const key of ['items-only', 'reproduction', 'method', 'traceability', 'results'] as MessageKey[])
      expect(text, key).toContain(long[key].replace(/\s/g, ''))
    for (const word of ['Certificatenumber', 'Statements', 'Coefficient', 'lastterm', 'Humidity'])
      expect(text.replace(/ŧ\p{L}+/gu, ''), word).not.toContain(word)
  })

  it('carry the decimal sign that the customer uses, where it is another than the language has', () => {
    expect(certificateIn(['en'], CATALOG, ',').certificate.decimalSign).toBe(',')
    expect(certificateIn(['de'], CATALOG, '.').certificate.decimalSign).toBe('.')
    const comma = certificateIn(['en'], CATALOG, ',')
    const [head, row] = itemCsv(comma.certificate, comma.result).split('\r\n')
    expect(head).toMatch(/^certificate;serial_number;t90_C;/)
    expect(row).toMatch(/^;77031;-?0,\d+;\d+,\d+;/)
  })

  it('print the same numbers whatever the language, with its decimal sign and its country’s name', () => {
    const [english, german] = [certificateIn(['en']), certificateIn(['de'])]
    expect(german.certificate.numbers).toEqual(english.certificate.numbers)
    expect([english, german].map(({ certificate }) => certificate.decimalSign)).toEqual(['.', ','])
    expect(JSON.stringify(german.certificate.blocks)).toContain('Irland')
    expect(JSON.stringify(certificateIn(['fr', 'es']).certificate.blocks)).toContain('Irlande / Irlanda')
  })

  it('name the components of a budget that was asked for as its template does in each of them', () => {
    const table = (languages: Language[], catalog = CATALOG, budgets: BudgetTemplate[] = []) =>
      JSON.stringify(certificateIn(languages, catalog, undefined, budgets).certificate.blocks)
    expect(JSON.stringify(certificateIn(['de']).certificate.blocks)).not.toContain('Bad, örtliche Verteilung')
    const both = table(['de', 'fr'])
    for (const words of [
      'Unsicherheitsbudgets der Punkte / Bilans d’incertitude des points',
      'Bad, örtliche Verteilung / Bain, homogénéité',
      'Kombinierte Standardunsicherheit / Incertitude-type composée',
    ])
      expect(both).toContain(words)
    expect(both).not.toContain('Bath, uniformity')

    // A made-up language of half as long again in the place of German: each name is printed whole, none is left in English.
    const own = templateFor('prt')
    const stretched = {
      ...own,
      components: own.components.map((c) => ({ ...c, names: { de: lengthened(c.name) } })),
    }
    const made = table(['de'], { ...CATALOG, de: long }, [stretched])
    const shown = own.components.filter(({ name }) => made.includes(lengthened(name)))
    expect(shown.length).toBeGreaterThan(2)
    for (const { name } of own.components) expect(made).not.toContain(`"${name}"`)

    // What a laboratory has not said in a language stands as it named it.
    const { names: _, ...plain } = own.components.find(({ id }) => id === 'bath-uniformity')!
    const partly = { ...own, components: own.components.map((c) => (c.id === plain.id ? plain : c)) }
    expect(table(['de'], CATALOG, [partly])).toContain('"Bath, uniformity"')
  })

  it('have every message of one another with the same values in it', () => {
    const values = (text: string) =>
      [
        ...new Set(
          [...text.matchAll(/\{(\w+)/g)].map(([, name]) => name).filter((n) => n && en !== undefined),
        ),
      ]
        .filter((name) => /^[a-z]+$/.test(name!) && !['One'].includes(name!))
        .toSorted()
    const placeholders = (text: string) =>
      values(text.replace(/\{[^{}]*(select|plural),[\s\S]*\}/, (m) => `{${m.slice(1).split(',')[0]}}`))
    for (const [language, messages] of Object.entries(CATALOG))
      for (const key of Object.keys(en) as MessageKey[])
        expect(placeholders(messages[key]), `${language} ${key}`).toEqual(placeholders(en[key]))
  })
})
