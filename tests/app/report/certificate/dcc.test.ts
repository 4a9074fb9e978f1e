import { readFileSync } from 'node:fs'
import path from 'node:path'
import { describe, expect, it } from 'vitest'
import { create } from 'xmlbuilder2'
import type { SessionEvent } from '../../../../app/records/session.ts'
import { buildCertificate } from '../../../../app/report/certificate/build.ts'
import { certificateDcc } from '../../../../app/report/certificate/dcc.ts'
import { ellipsoidProbability } from '../../../../app/report/certificate/dcc-document.ts'
import { siUnit } from '../../../../app/report/dcc-parts.ts'
import { dccFindings, isDsiUnit } from '../../../../app/report/dcc-rules.ts'
import { type Analysis, type AnalysisInput, analyse } from '../../../../app/results/analysis.ts'
import { deviationFromStandardMk } from '../../../../app/results/conformity.ts'
import { simulate } from '../../../report/fixture.ts'
import { coverage, readCertificate, signalAt, standardAt } from './reader.ts'
import { canValidate, complaints } from './xmllint.ts'

const STANDARDS = path.resolve(import.meta.dirname, '../../../standards/dcc')
const validates = canValidate()

const ASKED = {
  'prt-x1': { conformity: { class: 'B', rule: 'guarded' }, tableStepK: 20, languages: ['en', 'de'] },
  'prt-x2': { conformity: { class: 'AA', rule: 'simple' }, languages: ['fr'] },
} as const

type Choices = Parameters<typeof simulate>[0]

/** A session whose industrial thermometers have an element as stated, and certificates as asked. */
function analysed(choices: Choices = {}, change: (input: AnalysisInput) => AnalysisInput = (same) => same) {
  const { input } = simulate(choices)
  input.setup.register.thermometers.find((t) => t.id === 'prt-x1')!.construction = 'film'
  input.setup.register.thermometers.find((t) => t.id === 'prt-x2')!.construction = 'wire-wound'
  input.setup.job!.wishes = structuredClone(ASKED) as never
  return analyse({ ...change(input), options: { monteCarloTrials: 0 } })
}

function xmlOf(analysis: Analysis, id: string): string {
  const result = analysis.thermometers.find((t) => t.record.thermometer.id === id)!
  const { certificate, say } = buildCertificate(analysis, result)
  return certificateDcc(certificate, result, analysis, say)!
}
const certificate = (choices: Choices = {}, id = 'prt-x1') => xmlOf(analysed(choices), id)

const SIGNED: SessionEvent = {
  n: 20,
  utcUs: Date.parse('2026-03-04T08:00:00Z') * 1000,
  monoUs: 0,
  kind: 'sign-off',
  who: 'C. Hale',
  subject: null,
  words: 'w',
  data: { certificates: { 'prt-x1': 'QTL-2026-0001' } },
}

describe('certificateDcc', () => {
  it.runIf(validates)('is valid against the published schema 3.3.0 for every kind of thermometer', () => {
    const analysis = analysed({ thermocouple: true })
    for (const { record } of analysis.thermometers)
      expect(complaints(xmlOf(analysis, record.thermometer.id)), record.thermometer.name).toBe('')
    for (const seed of [2, 3]) expect(complaints(certificate({ seed }))).toBe('')
    expect(complaints(certificate({ cell: 'none', setpoints: [10, 40, 70, 90] }))).toBe('')
  })

  it.runIf(validates)(
    'is refused by the schema when a decimal comma or a missing identifier spoils it',
    () => {
      const xml = certificate()
      expect(complaints(xml.replace(/<si:valueXMLList>(-?\d+)\./, '<si:valueXMLList>$1,'))).toMatch(
        /valueXMLList/,
      )
      expect(complaints(xml.replace(/<dcc:uniqueIdentifier>[^<]*<\/dcc:uniqueIdentifier>/, ''))).toMatch(
        /uniqueIdentifier/,
      )
    },
  )

  it.runIf(validates)('stays valid with hostile and odd words in the record', () => {
    const xml = xmlOf(
      analysed({}, (input) => {
        Object.assign(input.setup.job!, {
          customer: '<&>"\'  two  blanks ',
          customerAddress: [],
          remarks: [''],
        })
        Object.assign(input.setup.register.thermometers[1]!, {
          name: 'R&D; Ltd &amp; \u0001\ud800',
          maker: '&name;',
        })
        return input
      }),
      'prt-x1',
    )
    expect(complaints(xml)).toBe('')
    // What looks like an entity is a name like any other.
    expect(xml).toContain('R&amp;D; Ltd &amp;amp; ')
    expect(xml).toContain('&amp;name;')
  })

  it.runIf(validates)('carries the amendment and the one it replaces', () => {
    const xml = xmlOf(
      analysed({}, (input) => ({
        ...input,
        events: [
          ...input.events,
          SIGNED,
          { ...SIGNED, n: 21, kind: 'amendment', who: 'B. Wend', data: { why: 'misprint' } },
        ],
      })),
      'prt-x1',
    )
    expect(complaints(xml)).toBe('')
    expect(xml).toContain('<dcc:replacedUniqueIdentifier>QTL-2026-0001/1</dcc:replacedUniqueIdentifier>')
  })

  it('keeps the rules beyond the schema, in one language and in two', () => {
    for (const id of ['prt-x1', 'prt-x2', 'sprt-x3', 'thermistor-x4'])
      expect(dccFindings(certificate({}, id)), id).toEqual([])
  })

  it('is of one item for its customer alone, and names no id of the session', () => {
    const xml = certificate()
    expect(xml.match(/<dcc:item /g)).toHaveLength(1)
    expect(xml.match(/<dcc:measurementResult /g)).toHaveLength(1)
    expect(xml).not.toContain('77131')
    expect(xml).not.toContain(simulate().input.info.id)
  })

  it('gives as measurement error the deviation from the standard with its U, and no residual of a fit', () => {
    const xml = certificate({ cell: 'none' })
    const error =
      /refType="basic_measurementError"[\s\S]*?<si:valueXMLList>([^<]*)[\s\S]*?<si:valueExpandedMUXMLList>([^<]*)/.exec(
        xml,
      )!
    const analysis = analysed({ cell: 'none' })
    const points = analysis.thermometers[0]!.points
    const expected = points.map(
      (p) => deviationFromStandardMk(p.pair.underTest.measuredSignal, 100, p.pair.referenceC) * 1e-3,
    )
    const stated = error[1]!.split(' ').map(Number)
    for (const [i, value] of stated.entries()) expect(Math.abs(value - expected[i]!)).toBeLessThan(0.6e-4)
    // 58 to 65 mK here, where the residuals of the fit are below 3 mK.
    expect(Math.min(...stated.map(Math.abs))).toBeGreaterThan(0.02)
    expect(error[2]!.split(' ')).toHaveLength(points.length)
  })

  it('states U of the measured resistance and of the temperature', () => {
    const xml = certificate()
    const quantity = (refType: string) =>
      new RegExp(`<dcc:quantity refType="${refType}">[\\s\\S]*?</dcc:quantity>`).exec(xml)![0]
    const ohm = /<si:valueExpandedMUXMLList>([^<]*)/.exec(quantity('basic_measuredValue'))![1]!
    const kelvin = /<si:valueExpandedMUXMLList>([^<]*)/.exec(quantity('basic_referenceValue'))![1]!
    // dR/dt of a 100 ohm platinum thermometer is 0.38 to 0.39 ohm/K; both are rounded to two digits.
    for (const [i, u] of ohm.split(' ').entries())
      expect(Number(u) / Number(kelvin.split(' ')[i])).toBeCloseTo(0.385, 1)
  })

  it('gives verdict and tolerance of the class that was asked for, and none where none was', () => {
    const xml = certificate({ cell: 'none' })
    expect(xml).toMatch(/<dcc:conformityXMLList>(pass ?){6}<\/dcc:conformityXMLList>/)
    expect(xml).toMatch(/basic_acceptanceLimitLower[\s\S]*?<si:valueXMLList>-0\.300 /)
    expect(xml).toMatch(/basic_acceptanceLimitUpper[\s\S]*?<si:valueXMLList>0\.300 /)
    expect(certificate({}, 'sprt-x3')).not.toContain('conformity')
  })

  it.each(['prt-x1', 'prt-x2', 'sprt-x3', 'thermistor-x4'])(
    'lets a reader recompute signal and U of %s at 20 temperatures and more from the XML alone',
    (id) => {
      const analysis = analysed({ seed: 4 })
      const result = analysis.thermometers.find((t) => t.record.thermometer.id === id)!
      const read = readCertificate(xmlOf(analysis, id))
      expect(read.range.length).toBeGreaterThanOrEqual(20)
      for (const { celsius, signal, expanded, beyondK, freedom } of read.range) {
        const place = 10 ** -(signal.split('.')[1]?.length ?? 0)
        expect(Math.abs(signalAt(read, celsius) - Number(signal)), `${celsius} °C`).toBeLessThan(0.51 * place)
        // What the program itself has there, beyond what was printed.
        expect(Math.abs(signalAt(read, celsius) - result.fit!.prepared.toSignal(celsius).value)).toBeLessThan(
          0.05 * place,
        )
        const u = standardAt(read, celsius, beyondK) * coverage(freedom, read.probability)
        const digits = 10 ** -expanded.split('.')[1]!.length
        expect(Math.abs(u - Number(expanded)), `U at ${celsius} °C`).toBeLessThan(0.51 * digits)
        expect(u * 1e3).toBeCloseTo(result.fit!.atTemperature(celsius).expanded, 3)
      }
    },
  )
})

describe('ellipsoidProbability', () => {
  it('is the probability of chi-squared below one', () => {
    // Tables of chi-squared: P(chi2 < 1) for 1 to 4 degrees of freedom.
    expect([1, 2, 3, 4].map((n) => ellipsoidProbability(n).toFixed(4))).toEqual([
      '0.6827',
      '0.3935',
      '0.1987',
      '0.0902',
    ])
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
    ['a language that is not declared', /lang="en"/, 'lang="es"', /language es/],
    [
      'a country that is none',
      /<dcc:countryCodeISO3166_1>IE/,
      '<dcc:countryCodeISO3166_1>QQ',
      /QQ is not a country/,
    ],
    ['two blanks in a list', /<si:valueXMLList>(\S+) /, '<si:valueXMLList>$1  ', /one blank/],
    ['an id given twice', / refId="item1"/, ' id="item1" refId="item1"', /item1 is given twice/],
    ['a reference to nowhere', /refId="item1"/, 'refId="item9"', /item9 names no id/],
    [
      'a result of no item',
      /(<dcc:item id="item1">[\s\S]*?<\/dcc:item>)([\s\S]*?) refId="item1"/,
      '$1<dcc:item/>$2',
      /of which item/,
    ],
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
    ['no word of traceability', /<dcc:traceable>false<\/dcc:traceable>/, '', /traceable/],
    ['no methods', /<dcc:usedMethods>[\s\S]*?<\/dcc:usedMethods>/g, '', /no method/],
    [
      'no conditions',
      /<dcc:influenceConditions>[\s\S]*?<\/dcc:influenceConditions>/g,
      '',
      /no influence condition/,
    ],
  ])('finds %s', (_name, from, to, words) => {
    expect(dccFindings(certificate().replace(from, to)).join(' ')).toMatch(words)
  })

  it('reads the published examples', () => {
    const file = path.join(STANDARDS, 'examples/dcc_gp_temperature_typical_v12.xml')
    const xml = readFileSync(file, 'utf8')
    expect(create(xml).root().node.nodeName).toBe('dcc:digitalCalibrationCertificate')
    // An example of an older schema, before the newer form of uncertainties; it names no traceability. Its units all pass.
    expect(new Set(dccFindings(xml))).toEqual(
      new Set([
        'It is not of schema version 3.3.0.',
        'dcc:declaration says the same in one language twice.',
        'An uncertainty is in a form that D-SI 2.2.1 calls deprecated.',
        'No statement says whether the results are traceable.',
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
