import { describe, expect, it } from 'vitest'
import { implausibleResistor, implausibleThermometer } from '../../../app/checks/implausible.ts'
import { Resistor, Thermometer } from '../../../app/records/register.ts'
import { readMatrix } from '../../../renderer/parts/forms.ts'
import { takeApart } from '../../../renderer/register/paste.model.ts'
import {
  draftOf,
  newCalibration,
  problemsToShow,
  readEntry,
  withPasted,
} from '../../../renderer/register/register.model.ts'

// An invented certificate, as text copied from a PDF looks.
const ITS90 = `Certificate No: QCH-T-0147
Date of calibration: 2026-02-10
Recalibration due 10.02.2028
Serial number QS25-0147
Deviation function of ITS-90, section 3.3.2.3
R(0.01 °C) / Ω = 25.4870012
a = −1.2345 × 10⁻⁴
b: 2,1 e-6
Coverage factor k = 2
t / °C   R / Ω   U / mK
0.01   25.4870   1.0
156.5985 41.01  2.5
231.928  48.2   3
This certificate has two pages.`

describe('takeApart', () => {
  it('finds coefficients, dates, numbers and the table of a certificate, each with its line', () => {
    const { found, kind, serial, doubts } = takeApart(ITS90)
    expect(doubts).toEqual([])
    expect(kind).toBe('its90')
    expect(serial).toBe('QS25-0147')
    expect(Object.fromEntries(found.map(({ field, text }) => [field, text]))).toEqual({
      'texts.certificate': 'QCH-T-0147',
      'texts.date': '2026-02-10',
      'texts.due': '2028-02-10',
      'coefficients.subrange': '3.3.2.3',
      'coefficients.rWtp': '25.4870012',
      'coefficients.coefficients.a': '-1.2345e-4',
      'coefficients.coefficients.b': '2.1e-6',
      'uncertainty.k': '2',
      'uncertainty.points': '0.01 1\n156.5985 2.5\n231.928 3',
    })
    expect(found.find(({ field }) => field.endsWith('.a'))?.from).toBe('a = −1.2345 × 10⁻⁴')
  })

  it('takes a table in kelvin for what it is', () => {
    const { found, kind } = takeApart(
      'R0 = 100.0031\nA = 3.9083E-3\nB = -5.775E-7\nt/°C U/K\n0 0.01\n100 0.015',
    )
    expect(kind).toBe('callendar-van-dusen')
    expect(found.find(({ field }) => field === 'uncertainty.points')?.text).toBe('0 10\n100 15')
  })

  it('asks where a text contradicts itself or may be read in two ways, and guesses nothing', () => {
    const { doubts, found } = takeApart('R0 = 100.1\nR0 = 100.2\nDate: 03/04/2026')
    expect(doubts).toHaveLength(2)
    expect(found.some(({ field }) => field === 'texts.date')).toBe(false)
    expect(takeApart('R0 = 100\nR(0.01 °C) = 25.5').kind).toBeUndefined()
    expect(takeApart('Dear customer, thank you. A page follows.').found).toEqual([])
  })

  it('fills the form, which then makes the record', () => {
    const draft = draftOf('thermometers', undefined, 'new')
    const calibration = withPasted(
      newCalibration('thermometers', '2026-01-01', { kind: 'sprt' }),
      takeApart(ITS90),
    )
    const { entry, problems } = readEntry('thermometers', {
      ...draft,
      texts: { ...draft.texts, name: 'Reference', kind: 'sprt', fit: 'its90' },
      calibration,
    })
    expect(problems).toEqual({})
    expect((entry as Thermometer).calibrations[0]).toMatchObject({
      certificate: 'QCH-T-0147',
      conversion: { kind: 'its90', subrange: '3.3.2.3', rWtp: '25.4870012' },
      uncertainty: { k: 2, points: [{ expandedMk: 1 }, { expandedMk: 2.5 }, { expandedMk: 3 }] },
    })
  })
})

describe('readMatrix', () => {
  it('takes a whole matrix, or the half of it, with or without names above', () => {
    expect(readMatrix('1e-6 2e-8\n2e-8 4e-9')).toEqual([
      [1e-6, 2e-8],
      [2e-8, 4e-9],
    ])
    expect(readMatrix('R0 A\n1e-6\n2e-8 4e-9')).toEqual([
      [1e-6, 2e-8],
      [2e-8, 4e-9],
    ])
    expect(readMatrix('1 2\n3')).toBeUndefined()
    expect(readMatrix('1 x\n2 3')).toBeUndefined()
  })

  it('becomes the covariance of the coefficients that were typed, in their order', () => {
    const draft = draftOf('thermometers', undefined, 'new')
    const typing = (covariance: string) =>
      readEntry('thermometers', {
        ...draft,
        texts: { ...draft.texts, name: 'P' },
        calibration: {
          ...newCalibration('thermometers', '2026-01-01', { kind: 'prt' }),
          coefficients: { r0: '100', a: '3.9083e-3', b: '-5.775e-7', covariance },
        },
      })
    const good = typing('1e-6\n0 1e-16\n0 0 1e-22')
    expect((good.entry as Thermometer).calibrations[0]?.conversion).toMatchObject({
      covariance: {
        names: ['r0', 'a', 'b'],
        matrix: [
          [1e-6, 0, 0],
          [0, 1e-16, 0],
          [0, 0, 1e-22],
        ],
      },
    })
    expect(typing('1e-6 0\n0 1').problems['calibration.covariance']).toMatch(
      /3 rows are needed, for r0, a, b/,
    )
    // A correlation beyond 1.
    expect(typing('1e-6\n1 1e-16\n0 0 1e-22').problems).toHaveProperty(['calibration.conversion'])
  })
})

describe('implausible values', () => {
  const resistor = (expandedRelative: number, ohm = '100.00002') =>
    Resistor.parse({
      ...{ id: 'r', name: 'Rs 100', nominalOhm: 100, keptAtC: 23, uKeptAtK: 0.05 },
      calibrations: [
        {
          ...{ id: 'c', date: '2026-01-01', certificate: '', laboratory: '' },
          ohm,
          celsius: 23,
          expandedRelative,
        },
      ],
    })

  it('are asked about: 0.4 for 0.4 ppm, a misplaced digit, kelvin for millikelvin', () => {
    expect(implausibleResistor(resistor(4e-7))).toEqual([])
    expect(implausibleResistor(resistor(0.4)).join()).toMatch(/400000 ppm\. Is it stated in ppm/)
    expect(implausibleResistor(resistor(4e-7, '109.00002')).join()).toMatch(/misplaced/)
    const thermometer = Thermometer.parse({
      id: 't',
      name: 'T',
      kind: 'prt',
      lowC: 0,
      highC: 90,
      nominalOhm: 100,
      currentMa: 100,
    })
    expect(implausibleThermometer(thermometer).join()).toMatch(/Is the unit mA/)
    expect(implausibleThermometer({ ...thermometer, currentMa: 1 })).toEqual([])
    // The scale says what W is at the triple point: there the coefficients alone leave next to nothing.
    const certified = (celsius: number, expandedMk: number) => ({
      ...thermometer,
      currentMa: 1,
      calibrations: [{ uncertainty: { k: 2, points: [{ celsius, expandedMk }] } }],
    })
    expect(implausibleThermometer(certified(0.01, 5.84972703575e-8) as never)).toEqual([])
    expect(implausibleThermometer(certified(50, 5.84972703575e-8) as never).join()).toContain(
      'at 50 °C is 5.85e-8 mK. Is the unit mK?',
    )
  })
})

describe('problemsToShow', () => {
  it('says what is missing only to who wants to save, and what cannot be read at once', () => {
    const { problems } = readEntry('thermometers', {
      ...draftOf('thermometers', undefined, 'new'),
      texts: { kind: 'prt', lowC: 'x' },
    })
    expect(problemsToShow(problems, false)).toEqual({ lowC: 'A number of °C' })
    expect(Object.keys(problemsToShow(problems, true))).toContain('name')
  })
})
