import { execFileSync } from 'node:child_process'
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import path from 'node:path'
import { describe, expect, it } from 'vitest'
import { create } from 'xmlbuilder2'
import { buildReport } from '../../../app/report/content.ts'
import { reportDcc } from '../../../app/report/dcc.ts'
import { siUnit } from '../../../app/report/dcc-parts.ts'
import { dccFindings, isDsiUnit } from '../../../app/report/dcc-rules.ts'
import { addText, shiftText } from '../../../app/report/decimal-text.ts'
import { analyse } from '../../../app/results/analysis.ts'
import { simulate } from '../../report/fixture.ts'

const STANDARDS = path.resolve(import.meta.dirname, '../../../../shared/standards/dcc')
const SCHEMA = path.join(STANDARDS, 'v3.3.0/dcc.xsd')

function canValidate(): boolean {
  if (!existsSync(SCHEMA)) {
    console.warn(
      'The schema of the DCC is not at ../shared/standards/dcc: certificates are not validated here.',
    )
    return false
  }
  try {
    execFileSync('xmllint', ['--version'], { stdio: 'ignore' })
    return true
  } catch {
    console.warn('xmllint is not installed: certificates are not validated here.')
    return false
  }
}
const validates = canValidate()

/** Complaints of xmllint against the published schema; none for a valid certificate. */
function complaints(xml: string): string {
  const folder = mkdtempSync(path.join(tmpdir(), 'dcc-'))
  const file = path.join(folder, 'certificate.xml')
  writeFileSync(file, xml)
  try {
    execFileSync('xmllint', ['--nonet', '--noout', '--schema', SCHEMA, file], { stdio: 'pipe' })
    return ''
  } catch (fault) {
    return String((fault as { stderr: Buffer }).stderr)
  } finally {
    rmSync(folder, { recursive: true })
  }
}

const certificate = (choices: Parameters<typeof simulate>[0] = {}) => {
  const { input } = simulate(choices)
  for (const [id, construction] of Object.entries({ 'prt-x1': 'film', 'prt-x2': 'wire-wound' } as const)) {
    input.setup.register.thermometers.find((t) => t.id === id)!.construction = construction
    const conformity = { class: 'B', rule: 'guarded' } as const
    input.setup.job!.wishes = { ...input.setup.job!.wishes, [id]: { conformity, languages: ['en'] } }
  }
  const analysis = analyse({ ...input, options: { monteCarloTrials: 0 } })
  const report = buildReport(analysis)
  return { input, analysis, report, xml: reportDcc(analysis, report) }
}

describe('reportDcc', () => {
  it.runIf(validates)('is valid against the published schema 3.3.0', () => {
    for (const seed of [1, 2, 3]) expect(complaints(certificate({ seed }).xml)).toBe('')
    expect(complaints(certificate({ cell: 'none', setpoints: [10, 40, 70, 90] }).xml)).toBe('')
  })

  it.runIf(validates)(
    'is refused by the schema when a decimal comma or a missing identifier spoils it',
    () => {
      const { xml } = certificate()
      expect(complaints(xml.replace(/<si:valueXMLList>(-?\d+)\./, '<si:valueXMLList>$1,'))).toMatch(
        /valueXMLList/,
      )
      expect(complaints(xml.replace(/<dcc:uniqueIdentifier>[^<]*<\/dcc:uniqueIdentifier>/, ''))).toMatch(
        /uniqueIdentifier/,
      )
    },
  )

  it.runIf(validates)('stays valid with hostile and odd words in the record', () => {
    const { input } = simulate()
    const job = { ...input.setup.job!, customer: '<&>"\'  two  blanks ', customerAddress: [], remarks: [''] }
    const analysis = analyse({ ...input, setup: { ...input.setup, job }, options: { monteCarloTrials: 0 } })
    expect(complaints(reportDcc(analysis, buildReport(analysis)))).toBe('')
  })

  it.runIf(validates)('carries the amendment and the one it replaces', () => {
    const { input } = simulate()
    const at = { utcUs: input.info.endedUtcUs!, monoUs: 0, subject: null, words: 'w' }
    const events = [
      ...input.events,
      { ...at, n: 20, kind: 'sign-off' as const, who: 'C. Hale', data: {} },
      { ...at, n: 21, kind: 'amendment' as const, who: 'B. Wend', data: { why: 'misprint' } },
    ]
    const analysis = analyse({ ...input, events, options: { monteCarloTrials: 0 } })
    const xml = reportDcc(analysis, buildReport(analysis))
    expect(complaints(xml)).toBe('')
    expect(xml).toContain('<dcc:replacedUniqueIdentifier>QTL-2026-0147/1</dcc:replacedUniqueIdentifier>')
  })

  it('keeps the rules beyond the schema', () => {
    expect(dccFindings(certificate().xml)).toEqual([])
  })

  it('states the very numbers of the report, moved to SI units digit by digit', () => {
    const { xml, report, analysis } = certificate()
    const points = analysis.thermometers[0]!.points.filter((p) => p.included).map((p) => p.pair.point)
    const list = (what: string, move: (text: string) => string) =>
      points.map((p) => move(report.numbers[`x1.point.${p}.${what}`]!.value)).join(' ')
    expect(xml).toContain(`<si:valueXMLList>${list('t90', (t) => addText(t, '273.15'))}</si:valueXMLList>`)
    expect(xml).toContain(`<si:valueXMLList>${list('signal', (t) => t)}</si:valueXMLList>`)
    expect(xml).toContain(`<si:valueXMLList>${list('residual', (t) => shiftText(t, -3))}</si:valueXMLList>`)
  })

  it('gives a verdict for each judged point', () => {
    const { xml } = certificate({ cell: 'none' })
    expect(xml).toMatch(/<dcc:conformityXMLList>(pass ?){6}<\/dcc:conformityXMLList>/)
  })
})

describe('dccFindings', () => {
  it.each([
    ['a release that is no version', /<dcc:release>v[^<]*/g, '<dcc:release>newest', /release newest/],
    [
      'an end before the beginning',
      /<dcc:endPerformanceDate>[^<]*/,
      '<dcc:endPerformanceDate>2001-01-01',
      /ends before/,
    ],
    ['a language that is not declared', /lang="en"/, 'lang="fr"', /language fr/],
    [
      'a country that is none',
      /<dcc:countryCodeISO3166_1>IE/,
      '<dcc:countryCodeISO3166_1>QQ',
      /QQ is not a country/,
    ],
    ['two blanks in a list', /<si:valueXMLList>(\S+) /, '<si:valueXMLList>$1  ', /one blank/],
    ['an id given twice', /id="item2"/, 'id="item1"', /item1 is given twice/],
    ['a reference to nowhere', /refId="item2"/, 'refId="item9"', /item9 names no id/],
    ['a result of no item', / refId="item2"/, '', /of which item/],
    ['a unit that is none', /\\ohm</, '\\ohms<', /ohms is not a unit/],
    ['a unit without its stroke', /\\kelvin</, 'kelvin<', /kelvin is not a unit/],
    ['a coverage factor of a half', /<si:coverageFactor>[^<]*/, '<si:coverageFactor>0.5', /below one/],
    ['an uncertainty of nothing', /<si:valueExpandedMU>[^<]*/, '<si:valueExpandedMU>0', /not above zero/],
    [
      'a probability above one',
      /<si:coverageProbability>[^<]*/,
      '<si:coverageProbability>95',
      /between zero and one/,
    ],
    ['an old form of uncertainty', /si:expandedMU>/g, 'si:expandedUnc>', /deprecated/],
    ['no word of traceability', /<dcc:traceable>true<\/dcc:traceable>/, '', /traceable/],
    ['no methods', /<dcc:usedMethods>[\s\S]*?<\/dcc:usedMethods>/g, '', /no method/],
    [
      'no conditions',
      /<dcc:influenceConditions>[\s\S]*?<\/dcc:influenceConditions>/g,
      '',
      /no influence condition/,
    ],
  ])('finds %s', (_name, from, to, words) => {
    expect(dccFindings(certificate().xml.replace(from, to)).join(' ')).toMatch(words)
  })

  it.runIf(existsSync(STANDARDS))('reads the published examples', () => {
    const file = path.join(STANDARDS, 'examples/dcc_gp_temperature_typical_v12.xml')
    const xml = readFileSync(file, 'utf8')
    expect(create(xml).root().node.nodeName).toBe('dcc:digitalCalibrationCertificate')
    // An example of an older schema, before the newer form of uncertainties; it names no traceability. Its units all pass.
    expect(new Set(dccFindings(xml))).toEqual(
      new Set([
        'It is not of schema version 3.3.0.',
        'dcc:declaration says the same in one language twice.',
        'An uncertainty is in a form that D-SI 2.2.1 calls deprecated.',
        'No statement says that the results are traceable.',
      ]),
    )
  })
})

describe('isDsiUnit', () => {
  it.each([
    'Ω',
    'Ω/K',
    'mV',
    'mV/K',
    'mK',
    'mA',
    'mm',
    '%',
    'hPa',
    '1',
    '1/K',
    '1/°C',
    '1/°C²',
    '1/°C⁴',
    '°C',
    '°C/Ω',
    '°C/Ω³',
    '°C/mV',
    '°C/mV⁹',
  ])('holds for what the report’s %s becomes', (unit) => {
    expect(isDsiUnit(siUnit(unit).unit)).toBe(true)
  })

  it('refuses what only looks like one', () => {
    for (const unit of [
      '',
      'ohm',
      '\\Ohm',
      '\\ohm \\kelvin',
      '\\degreecelsius\\tothe{-1}',
      '\\tothe{2}',
      '\\ohm\\tothe{x}',
    ])
      expect(isDsiUnit(unit), unit).toBe(false)
    for (const unit of [
      '\\milli\\kelvin',
      '\\volt\\per\\kelvin',
      '\\kilogram\\metre\\tothe{2}\\second\\tothe{-3}',
    ])
      expect(isDsiUnit(unit), unit).toBe(true)
  })
})
