import { describe, expect, it } from 'vitest'
import { resistorCalibration, thermometerCalibration } from '../../app/dcc/calibration.ts'
import { readDcc } from '../../app/dcc/read.ts'
import { InstrumentRecord } from '../../app/records/register.ts'
import { dccFindings } from '../../app/report/dcc-rules.ts'
import { prepare } from '../../app/thermometry/convert.ts'
import { registerFacts, registerPage, registerPdf, registerXml } from '../../main/study/register-work.ts'
import { canValidate, complaints } from '../app/report/certificate/xmllint.ts'
import { entry, sprt, TRUTH, work } from './register-fixture.ts'

const validates = canValidate()

const textOf = (html: string) =>
  html
    .replace(/<style>.*?<\/style>/gs, '')
    .replace(/<[^>]+>/g, ' ')
    .replace(/\s+/g, ' ')

describe('fixedPointCertificate', () => {
  const of = { kind: 'fixed-points', id: 'sprt-9' } as const
  const text = textOf(registerPage(work, of))

  it('states what an assessor looks for: item, owner, cells, results with U, budget, chain and range', () => {
    for (const part of [
      'QT-9',
      'Vellmar Weather Station',
      'QTL-F-7',
      '2026-03-02',
      'Tin cell, QS-3',
      'N-11',
      'Uncertainty budget of each plateau',
      'all, and not in W',
      'section 3.3.2.2',
      'Valid from 0.010 °C to 419.527 °C',
      'r(a, b) =',
      'R(0.01 °C) from one water plateau to the next',
      'within U',
      'W − Wr = a (W − 1) + b (W − 1)²',
      '2026-03-01 to 2026-03-02',
      'says nothing about their quality',
      'Measuring current',
    ])
      expect(text).toContain(part)
    expect(text).toContain('231.92800')
  })

  it('claims no whole chain where a cell, the resistor or the bridge is not named', () => {
    expect(text).toContain('WTP cell, not named')
    expect(text).toContain('Zn cell, not named')
    expect(text).not.toContain('Sn cell, not named')
    expect(registerFacts(work, of).gaps.join(' ')).toMatch(
      /WTP cell.*Reference resistor|not named in every plateau/,
    )
  })

  it('says that it is a draft until somebody signs it', () => {
    expect(text).toMatch(/draft/i)
  })

  it('prints numbers that the calibration has, rounded to their uncertainty', () => {
    const conversion = entry.calibrations[0]!.conversion
    expect(conversion.kind === 'its90' && Number(conversion.coefficients.a)).toBeCloseTo(-1.6e-4, 7)
    // W of the true thermometer at zinc to the places that U(W) of about 3.5e-6 leaves.
    const w = TRUTH.toSignal(419.527).value / 25.5
    expect(text).toContain(w.toFixed(6).slice(0, 7))
  })

  it('makes a PDF of the same content', async () => {
    const pdf = await registerPdf(work, of)
    expect(Buffer.from(pdf.slice(0, 5)).toString()).toBe('%PDF-')
  })

  it.runIf(validates)('is a digital certificate by the published schema and the rules beyond it', () => {
    const xml = registerXml(work, of, null)
    expect(complaints(xml)).toBe('')
    expect(dccFindings(xml)).toEqual([])
  })

  it('states the same to a program: its file read in gives W, coefficients and U back', () => {
    const read = readDcc(registerXml(work, of, null))
    expect(read.section).toBe('3.3.2.2')
    expect(read.points.map(({ celsius }) => Number(celsius).toFixed(2))).toEqual([
      '0.01',
      '419.53',
      '0.01',
      '231.93',
      '0.01',
    ])
    const found = thermometerCalibration(read, 'x')
    if ('refusal' in found) throw new Error(found.refusal.words)
    const [own, again] = [entry.calibrations[0]!, found.calibration].map(({ conversion }) =>
      prepare(conversion),
    )
    for (const t of [20, 100, 231.928, 400]) {
      const signal = own!.toSignal(t).value
      // A tenth of U, which is about 0.4 mK in the cells and more between: places that the coefficients are printed to.
      expect(Math.abs(again!.toTemperature(signal).value - t) * 1e3).toBeLessThan(0.05)
    }
    expect([found.calibration.lowC, found.calibration.highC]).toEqual([0.01, 419.527])
    expect(found.calibration.uncertainty!.points.at(-1)!.expandedMk).toBeCloseTo(
      entry.calibrations[0]!.uncertainty!.points.at(-1)!.expandedMk,
      1,
    )
  })

  it('names resistor and bridge as links of its chain, as the plateaus do', () => {
    const made = {
      ...entry.calibrations[0]!.fixedPoints!,
      plateaus: entry.calibrations[0]!.fixedPoints!.plateaus.map((p) => ({
        ...p,
        resistor: 'best',
        bridge: 'b-8',
      })),
    }
    const with8 = { ...entry, calibrations: [{ ...entry.calibrations[0]!, fixedPoints: made }] }
    const bridge = InstrumentRecord.parse({
      id: 'b-8',
      name: 'Bridge 8',
      role: 'ratio-bridge',
      serial: 'QB-8',
      bridge: { linearityRatio: 2e-8, resolutionRatio: 1e-9, highestRatio: 4 },
    })
    const whole = { ...work, thermometers: [with8], instruments: [bridge] }
    const text8 = textOf(registerPage(whole, of))
    expect(text8).toContain('Resistor best, BEST N-5, 2025-01-01')
    expect(text8).toContain('Bridge 8, QB-8')
    // The bridge has no certificate and no check of its own: the chain says so.
    expect(registerFacts(whole, of).gaps.join(' ')).toMatch(/Bridge 8/)
  })

  it('states the depth of each plateau in millimetres', () => {
    const calibration = entry.calibrations[0]!
    const plateaus = calibration.fixedPoints!.plateaus.map((p, i) => (i === 3 ? { ...p, depthM: 0.157 } : p))
    const fixedPoints = { ...calibration.fixedPoints!, plateaus }
    const deep = { ...entry, calibrations: [{ ...calibration, fixedPoints }] }
    expect(textOf(registerPage({ ...work, thermometers: [deep] }, of))).toMatch(
      /Tin cell, QS-3 2026-03-02 01:00 UTC [\d.]+ 157 /,
    )
  })

  it('refuses a thermometer whose calibrations were not made of plateaus here', () => {
    expect(() => registerPage({ ...work, thermometers: [sprt] }, of)).toThrow(/Record its fixed points first/)
    expect(() => registerPage(work, { ...of, id: 'nowhere' })).toThrow(/no thermometer "nowhere"/)
  })
})

describe('resistorCertificate', () => {
  it('states the value with its U, the better resistor and its certificate', () => {
    const text = textOf(registerPage(work, { kind: 'resistor', id: 'own' }))
    // R = n Rs: 1.000001 x 100.0001
    for (const part of ['Resistor own', 'QTL-R-3', 'Resistor best', 'N-5', '100.00020'])
      expect(text).toContain(part)
    // Parts in a million in plain digits, however small they are.
    expect(text).toMatch(/Drift a year, from all its values 0\.\d\d × 10⁻⁶, U 0\.\d\d × 10⁻⁶/)
    expect(text).not.toMatch(/e-\d/)
    expect(() => registerPage(work, { kind: 'resistor', id: 'best' })).toThrow(/no comparison of its own yet/)
  })

  it('reads back from its XML as the same calibration', () => {
    const xml = registerXml(work, { kind: 'resistor', id: 'own' }, null)
    if (validates) expect(complaints(xml)).toBe('')
    expect(dccFindings(xml)).toEqual([])
    const found = resistorCalibration(readDcc(xml), 'r')
    if ('refusal' in found) throw new Error(found.refusal.words)
    expect(Number(found.calibration.ohm)).toBeCloseTo(100.0002, 5)
    expect(found.calibration).toMatchObject({ celsius: 23, k: 2, certificate: 'QTL-R-3/1' })
  })
})
