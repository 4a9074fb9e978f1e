import { describe, expect, it } from 'vitest'
import { Resistor } from '../../../app/records/register.ts'
import { prepare } from '../../../app/thermometry/convert.ts'
import { adviseResistor, type ResistorQuestion } from '../../../app/thermometry/resistor-advice.ts'

const resistor = (id: string, ohm: string, extra: object = {}, calibration: object = {}) =>
  Resistor.parse({
    id,
    name: `${ohm} ohm`,
    nominalOhm: Number(ohm),
    keptAtC: 20,
    uKeptAtK: 0.01,
    calibrations: [
      {
        id: 'c',
        date: '2026-01-01',
        certificate: 'QTL',
        laboratory: 'Quennick',
        ohm,
        celsius: 20,
        alphaPerK: 2e-6,
        expandedRelative: 1e-7,
        k: 2,
        ...calibration,
      },
    ],
    ...extra,
  })
const question: ResistorQuestion = {
  thermometer: prepare({
    kind: 'its90',
    rWtp: 25.5,
    subrange: '3.3.2.1',
    coefficients: { a: -1e-4, b: -1e-5, c: 1e-6 },
  }),
  lowC: 0,
  highC: 660,
  wantedMk: 0.2,
  dateIso: '2026-06-01',
  currentMa: 1,
}
const advise = (...resistors: Resistor[]) => adviseResistor(question, resistors)

describe('adviseResistor', () => {
  it('lets 25 ohm and 100 ohm serve a 25 ohm thermometer, with the ratios it would show', () => {
    const [first, second] = advise(resistor('r25', '25'), resistor('r100', '100'))
    expect([first!.serves, second!.serves]).toEqual([true, true])
    const r25 = [first!, second!].find(({ id }) => id === 'r25')!
    expect(r25.lowRatio).toBeCloseTo(1.02, 2)
    expect(r25.highRatio).toBeCloseTo(3.443, 2)
    expect(r25.reasons.join(' ')).toMatch(/ratio runs from 1\.020 to 3\.44/)
  })

  it('brings u(Rs)/Rs R dT/dR, the largest over the range', () => {
    const [found] = advise(resistor('r25', '25', { uKeptAtK: 0 }, { alphaPerK: 0 }))
    const { value, dValueDInput } = question.thermometer.toSignal(660)
    expect(found!.uncertaintyMk).toBeCloseTo((0.5e-7 * value * 1000) / dValueDInput, 9)
    expect(found!.contributionsMk.temperature).toBe(0)
  })

  it('puts those that serve first and says why the others do not', () => {
    const found = advise(
      resistor('small', '1'),
      resistor('big', '10000'),
      resistor('hot', '25', { maxCurrentMa: 0.5 }),
      resistor('loose', '25', {}, { expandedRelative: 1e-3 }),
      resistor('none', '25', { calibrations: [] }),
      resistor('future', '25', {}, { date: '2027-01-01' }),
      resistor('late', '25', {}, { due: '2026-05-01' }),
      resistor('good', '100'),
    )
    expect(found[0]!.id).toBe('good')
    expect(found.slice(1).every(({ serves }) => !serves)).toBe(true)
    const words = Object.fromEntries(found.map(({ id, reasons }) => [id, reasons[0]]))
    expect(words.small).toMatch(/beyond 0\.1 to 4/)
    expect(words.big).toMatch(/beyond 0\.1 to 4/)
    expect(words.hot).toMatch(/1 mA is more than the 0\.5 mA/)
    expect(words.loose).toMatch(/mK of standard uncertainty; 0\.2 mK are wanted/)
    expect(words.none).toMatch(/no calibration in force/)
    expect(words.future).toMatch(/no calibration in force/)
    expect(words.late).toMatch(/due on 2026-05-01/)
  })

  it("uses the bridge's own ratios where they are known", () => {
    const [found] = adviseResistor({ ...question, ratios: [0, 13] }, [resistor('r10', '10')])
    expect(found!.serves).toBe(true)
  })
})
