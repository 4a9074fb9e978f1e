import { readFileSync } from 'node:fs'
import path from 'node:path'
import { describe, expect, it } from 'vitest'
import { resistorCalibration, thermometerCalibration } from '../../../app/dcc/calibration.ts'
import { readDcc } from '../../../app/dcc/read.ts'
import { buildCertificate } from '../../../app/report/certificate/build.ts'
import { certificateDcc } from '../../../app/report/certificate/dcc.ts'
import { analyse } from '../../../app/results/analysis.ts'
import { prepare } from '../../../app/thermometry/convert.ts'
import { simulate } from '../../report/fixture.ts'

const EXAMPLES = path.resolve(import.meta.dirname, '../../standards/dcc/examples')
const example = (name: string) => readFileSync(path.join(EXAMPLES, `${name}_v12.xml`), 'utf8')

const analysis = analyse({ ...simulate({ seed: 3 }).input, options: { monteCarloTrials: 0 } })
function ours(id: string) {
  const result = analysis.thermometers.find((t) => t.record.thermometer.id === id)!
  const { certificate, say } = buildCertificate(analysis, result)
  return { result, certificate, xml: certificateDcc(certificate, result, analysis, say)! }
}

const made = (xml: string) => {
  const found = thermometerCalibration(readDcc(xml), 'x')
  if ('refusal' in found) throw new Error(found.refusal.words)
  return found.calibration
}

describe('readDcc', () => {
  it('reads the published example of a resistance thermometer, schema 3.1.1, with the place of each value', () => {
    const read = readDcc(example('dcc_gp_temperatur_resistance'))
    expect(read.schemaVersion).toBe('3.1.1')
    expect(read.laboratory).toBe('Kalibrierfirma GmbH')
    expect(read.coefficients.map(({ label, value }) => [label, value])).toEqual([
      ['R0', '100.0225'],
      ['A', '0.0039155'],
      ['B', '-6.469E-07'],
    ])
    const shown = read.values.map(({ name, unit }) => [name, unit])
    for (const [name, unit] of [
      ['R0', 'Ω'],
      ['A', '1/K'],
      ['B', '1/K²'],
    ])
      expect(shown).toContainEqual([name, unit])
    expect(read.points).toHaveLength(9)
    expect(read.points[1]).toEqual({
      celsius: '10.001',
      signal: '103.9329',
      quantity: 'ohm',
      expanded: '0.0041',
      k: '2',
    })
    expect(read.currentMa).toBe(1)
    for (const { place } of read.values) expect(place).toMatch(/^line \d+$/)
    const calibration = made(example('dcc_gp_temperatur_resistance'))
    // 0.0041 ohm at 0.39 ohm/K.
    expect(calibration.uncertainty!.points[1]!.expandedMk).toBeCloseTo(10.5, 0)
    expect(calibration.lowC).toBeCloseTo(-0.15, 9)
    // The example's own coefficients give its own points back within their U.
    const prepared = prepare(calibration.conversion)
    for (const p of read.points)
      expect(Math.abs(prepared.toSignal(Number(p.celsius)).value - Number(p.signal))).toBeLessThan(0.005)
  })

  it('reads the example of a sensor that shows temperatures, and says that it makes no conversion', () => {
    const read = readDcc(example('dcc_gp_temperature_typical'))
    expect(read.points.map(({ signal }) => signal)).toEqual(['33.17', '100.06', '175.21', '250.16', '319.92'])
    expect(read.unread).toContain('The certificate states no coefficients.')
    expect(thermometerCalibration(read, 'x')).toMatchObject({
      refusal: { words: expect.stringMatching(/no coefficients that make a conversion/) },
    })
  })

  it('reads variants of the schema alike', () => {
    const later = example('dcc_gp_temperatur_resistance')
      .replaceAll('3.1.1', '3.2.1')
      .replaceAll('expandedUncXMLList', 'expandedMUXMLList')
      .replaceAll('si:uncertaintyXMLList', 'si:valueExpandedMUXMLList')
    expect(readDcc(later).points).toEqual(readDcc(example('dcc_gp_temperatur_resistance')).points)
    expect(readDcc(later).schemaVersion).toBe('3.2.1')
  })

  it.each(['prt-x1', 'sprt-x3', 'thermistor-x4'])(
    'reads our own certificate of %s into the same chain to the last digit',
    (id) => {
      const { result, certificate, xml } = ours(id)
      const calibration = made(xml)
      const read = readDcc(xml)
      for (const { label, value } of read.coefficients) {
        const own = result.coefficients.map(({ name }) => certificate.numbers[`coefficient.${name}`]!.value)
        if (label !== 'C') expect(own.map(Number)).toContain(Number(value))
      }
      const again = prepare(calibration.conversion)
      for (const { pair, curve } of result.points.filter((p) => !p.pair.cell)) {
        const here = again.toTemperature(pair.underTest.signal).value
        const there = result.fit!.prepared.toTemperature(pair.underTest.signal).value
        // A hundredth of U: what the coefficients' three places more are for.
        expect(Math.abs(here - there) * 1e3).toBeLessThan(0.01 * curve.expanded)
      }
      const stated = calibration.uncertainty!.points
      const middle = stated[10]!
      expect(middle.expandedMk / result.fit!.atTemperature(middle.celsius).u / 2).toBeCloseTo(1, 1)
    },
  )

  it('reads our own certificate of a thermocouple into the same chain, once its type is known', () => {
    const { input } = simulate({ seed: 3, thermocouple: true })
    const own = analyse({ ...input, options: { monteCarloTrials: 0 } })
    const result = own.thermometers.find((t) => t.record.thermometer.kind === 'thermocouple')!
    const { certificate, say } = buildCertificate(own, result)
    const read = readDcc(certificateDcc(certificate, result, own, say)!)
    expect(thermometerCalibration(read, 'x')).toHaveProperty('refusal')
    const found = thermometerCalibration(read, 'x', result.record.thermometer)
    if ('refusal' in found) throw new Error(found.refusal.words)
    const again = prepare(found.calibration.conversion)
    for (const { pair, curve } of result.points) {
      const here = again.toTemperature(pair.underTest.signal).value
      const there = result.fit!.prepared.toTemperature(pair.underTest.signal).value
      expect(Math.abs(here - there) * 1e3).toBeLessThan(0.01 * curve.expanded)
    }
    const untyped = { ...result.record.thermometer, thermocoupleType: undefined, calibrations: [] }
    expect(thermometerCalibration(read, 'x', untyped)).toMatchObject({
      refusal: { words: expect.stringMatching(/Enter its letter/) },
    })
  })

  it('makes the relation of its kind of a certificate that states resistances alone, and refuses points that do not lie on it', () => {
    const item = simulate({ seed: 3 }).input.setup.register.thermometers.find((t) => t.id === 'prt-x1')!
    const bare = example('dcc_gp_temperatur_resistance').replace(
      /<dcc:result refType="gp_coefficients">[\s\S]*?<\/dcc:result>/,
      '',
    )
    const read = readDcc(bare)
    expect(read.coefficients).toEqual([])
    const found = thermometerCalibration(read, 'x', item)
    if ('refusal' in found) throw new Error(found.refusal.words)
    const prepared = prepare(found.calibration.conversion)
    for (const p of read.points)
      expect(Math.abs(prepared.toSignal(Number(p.celsius)).value - Number(p.signal))).toBeLessThan(
        Number(p.expanded),
      )
    // Not less than what its points state, 0.0041 ohm at 0.39 ohm/K.
    expect(found.calibration.uncertainty!.points[1]!.expandedMk).toBeGreaterThan(10.4)
    expect(found.calibration.note).toMatch(/fitted here through its points/)
    const off = readDcc(bare.replace('103.9329', '103.9829'))
    expect(thermometerCalibration(off, 'x', item)).toMatchObject({
      refusal: { words: expect.stringMatching(/lies farther from the relation/) },
    })
    const few = { ...read, points: read.points.slice(0, 2) }
    expect(thermometerCalibration(few, 'x', item)).toMatchObject({
      refusal: { words: expect.stringMatching(/its points determine none/) },
    })
  })

  it('takes a polynomial of a degree that leaves no coefficient to chance, and of the third at most', () => {
    const item = {
      ...simulate({ seed: 3 }).input.setup.register.thermometers[0]!,
      kind: 'other' as const,
      fit: undefined,
    }
    const read = {
      ...readDcc(example('dcc_gp_temperatur_resistance')),
      coefficients: [],
      covariance: null,
    }
    const lengthFor = (points: number) => {
      const found = thermometerCalibration({ ...read, points: read.points.slice(0, points) }, 'x', item)
      if ('refusal' in found) throw new Error(found.refusal.words)
      const { conversion } = found.calibration
      return conversion.kind === 'polynomial' ? conversion.coefficients.length : null
    }
    expect([2, 3, 4, 9].map(lengthFor)).toEqual([2, 3, 4, 4])
  })

  it('gives the covariance back, so that a budget that rests on it has U of every temperature', () => {
    const { result, xml } = ours('prt-x1')
    const { conversion } = made(xml)
    if (conversion.kind !== 'callendar-van-dusen') throw new Error('another relation')
    const own = result.fit!.covariance(['r0', 'a', 'b'])
    expect(conversion.covariance!.names).toEqual(['r0', 'a', 'b'])
    conversion.covariance!.matrix.flat().forEach((value, i) => {
      expect(value / own.flat()[i]!).toBeCloseTo(1, 8)
    })
  })

  it('reads a resistor', () => {
    const one = (text: string) => `<si:valueXMLList>${text}</si:valueXMLList>`
    const xml = example('dcc_gp_temperatur_resistance')
      .replace(/<dcc:result refType="gp_coefficients">[\s\S]*?<\/dcc:result>/, '')
      .replace(/<si:valueXMLList>273\.149[^<]*<\/si:valueXMLList>/, one('293.15'))
      .replace(/<si:valueXMLList>-0\.001[^<]*<\/si:valueXMLList>/, one('20.00'))
      .replace(/<si:valueXMLList>100\.0220[^<]*<\/si:valueXMLList>/, one('100.000123'))
      .replace(/<si:uncertaintyXMLList>[^<]*/, '<si:uncertaintyXMLList>0.000040')
    const found = resistorCalibration(readDcc(xml), 'r')
    expect(found).toMatchObject({ calibration: { ohm: '100.000123', celsius: 20, k: 2 } })
    expect('calibration' in found && found.calibration.expandedRelative).toBeCloseTo(4e-7, 10)
  })

  it.each([
    ['an external entity', '<!DOCTYPE d [<!ENTITY x SYSTEM "file:///etc/passwd">]><d>&x;</d>', 'hostile'],
    [
      'entities that swell',
      `<!DOCTYPE d [<!ENTITY a "${'x'.repeat(50)}"><!ENTITY b "&a;&a;&a;">]><d>&b;</d>`,
      'hostile',
    ],
    ['an entity that nobody declared', '<d>&x;</d>', 'not-xml'],
    ['a depth without end', '<d>'.repeat(5000), 'hostile'],
    ['more elements than a certificate has', `<d>${'<e/>'.repeat(200_001)}</d>`, 'hostile'],
    ['a style sheet', '<?xml-stylesheet href="http://x"?><d/>', 'hostile'],
    ['a file beyond all size', ' '.repeat(30_000_001), 'too-large'],
    ['no XML', 'PK\u0003\u0004', 'not-xml'],
    ['nothing', '', 'not-xml'],
    ['XML that is no certificate', '<invoice/>', 'not-dcc'],
    [
      'a certificate of no item',
      '<digitalCalibrationCertificate><administrativeData><coreData/></administrativeData></digitalCalibrationCertificate>',
      'not-dcc',
    ],
  ])('refuses %s, in words', (_name, xml, code) => {
    expect(() => readDcc(xml)).toThrow(expect.objectContaining({ code }))
    expect(() => readDcc(xml)).toThrow(/Ask its issuer|ask its issuer|Choose the certificate/)
  })
})
