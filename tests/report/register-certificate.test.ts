import { describe, expect, it } from 'vitest'
import { withComparison, withFixedPoints } from '../../app/checks/check-record.ts'
import { CheckRequest } from '../../app/contract/check-request.ts'
import { Cell } from '../../app/records/cell.ts'
import { Resistor, Thermometer } from '../../app/records/register.ts'
import type { RegisterWork } from '../../app/report/certificate/register-certificate.ts'
import { prepare } from '../../app/thermometry/convert.ts'
import { registerPage, registerPdf } from '../../main/study/register-work.ts'

const TRUTH = prepare({
  kind: 'its90',
  rWtp: 25.5,
  subrange: '3.3.2.2',
  coefficients: { a: -1.6e-4, b: -1e-5 },
})

const plateau = (fixedPoint: string, t: number, hour: number, more: object = {}) => ({
  fixedPoint,
  ohm: TRUTH.toSignal(t).value,
  depthM: 0,
  uCellMk: fixedPoint === 'H2O' ? 0.05 : 0.4,
  uBridgeMk: 0.05,
  uResistorMk: 0.1,
  uTypeAMk: 0.02,
  selfHeatingMk: 0,
  uSelfHeatingMk: 0.05,
  ohmPerKelvin: TRUTH.toSignal(t).dValueDInput,
  utc: `2026-03-0${1 + Math.floor(hour / 24)}T${String(hour % 24).padStart(2, '0')}:00:00.000Z`,
  ...more,
})

const sprt = Thermometer.parse({
  id: 'sprt-9',
  name: 'SPRT 9',
  kind: 'sprt',
  serial: 'QT-9',
  owner: 'Vellmar Weather Station (invented)',
  lowC: 0,
  highC: 420,
})
const tin = Cell.parse({
  id: 'tin-3',
  name: 'Tin cell',
  serial: 'QS-3',
  fixedPoint: 'Sn',
  depthM: 0.16,
  uMk: 0.4,
  calibrated: '2025-05-01',
  certificate: 'N-11',
  laboratory: 'National House (invented)',
  accreditation: 'CMC',
})
const request = CheckRequest.parse({
  check: 'fixed-points',
  thermometer: 'sprt-9',
  certificate: 'QTL-F-7',
  laboratory: 'Quennick Temperature Laboratory',
  date: '2026-03-02',
  due: '2028-03-02',
  plateaus: [
    plateau('H2O', 0.01, 1),
    plateau('Zn', 419.527, 9),
    plateau('H2O', 0.01, 17),
    plateau('Sn', 231.928, 25, { cell: 'tin-3' }),
    plateau('H2O', 0.01, 33),
  ],
})
if (request.check !== 'fixed-points') throw new TypeError('a request of fixed points')
const { entry } = withFixedPoints(sprt, request, '2026-03-02')

const resistor = (id: string, ohm: string) =>
  Resistor.parse({
    id,
    name: `Resistor ${id}`,
    serial: id.toUpperCase(),
    nominalOhm: 100,
    keptAtC: 23,
    uKeptAtK: 0.01,
    calibrations: [
      {
        id: `${id}-1`,
        date: '2025-01-01',
        certificate: 'N-5',
        laboratory: 'National House (invented)',
        accreditation: 'CMC',
        ohm,
        celsius: 23,
        expandedRelative: 2e-7,
        k: 2,
      },
    ],
  })
const better = resistor('best', '100.0001')
const compared = withComparison({
  ...(CheckRequest.parse({
    check: 'resistor',
    date: '2026-03-01',
    ratio: 1.000001,
    uRatio: 2e-8,
    better,
    resistor: resistor('own', '100.0002'),
    certificate: 'QTL-R-3',
    asCalibration: true,
  }) as Extract<CheckRequest, { check: 'resistor' }>),
}).entry

const work: RegisterWork = {
  laboratory: {
    name: 'Quennick Temperature Laboratory',
    address: ['3 Weir Street', 'Quennick'],
    country: 'XX',
  } as RegisterWork['laboratory'],
  decimalSign: '.',
  program: { name: 'Stillpoint', version: '0' },
  who: 'C. Keeper',
  thermometers: [entry],
  resistors: [better, compared],
  cells: [tin],
}

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
    ])
      expect(text).toContain(part)
    expect(text).toContain('231.92800')
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
    expect(() => registerPage(work, { kind: 'resistor', id: 'best' })).toThrow(/no comparison of its own yet/)
  })
})
