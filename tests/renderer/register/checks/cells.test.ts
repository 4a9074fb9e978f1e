import { describe, expect, it } from 'vitest'
import type { FoundPlateau } from '../../../../app/contract/checks.ts'
import { prepare } from '../../../../app/thermometry/convert.ts'
import { fixedPointTemperature } from '../../../../app/thermometry/fixed-points.ts'
import { spread, timeAxis } from '../../../../renderer/plots/axes.ts'
import {
  bandOf,
  type CellDraft,
  findingsOf,
  noteOfSet,
  readCell,
  requestOf,
  resultOfSet,
  setRWtp,
} from '../../../../renderer/register/checks/cells.model.ts'
import type { SetPlateau } from '../../../../renderer/register/checks/checks.store.ts'
import { readMoment } from '../../../../renderer/register/checks/moments.ts'
import { dayOfSession, firstCell, guessCell } from '../../../../renderer/register/checks/sessions.model.ts'

const draft: CellDraft = {
  session: 's',
  channel: 'cell',
  fixedPoint: 'Sn',
  texts: {},
  heating: 'session',
  used: null,
}
const TRUE = { a: -1.2e-4, b: -6e-6, rWtp: 25.5 }

/** A plateau as a faultless thermometer with the coefficients above would give it. */
function plateau(name: 'H2O' | 'Ga' | 'In' | 'Sn', errorMk = 0, thermometer = 'sprt'): SetPlateau {
  const depthM = 0.15
  const t90C = fixedPointTemperature(name, depthM)
  const exact = prepare({
    kind: 'its90',
    rWtp: TRUE.rWtp,
    subrange: '3.3.2.3',
    coefficients: { a: TRUE.a, b: TRUE.b },
  })
  const { value, dValueDInput } = exact.toSignal(t90C)
  const ohm = value + (errorMk / 1e3) * dValueDInput
  const request = {
    fixedPoint: name,
    depthM,
    uDepthM: 0.005,
    uCellMk: 0.2,
    uBridgeMk: 0.05,
    ohm,
    uTypeAMk: 0.02,
    degreesOfFreedom: 50,
    rangeMk: 0,
    ohmPerKelvin: dValueDInput,
    selfHeatingMk: 0,
    uSelfHeatingMk: 0,
  }
  const found = {
    ohm,
    t90C,
    ohmPerKelvin: dValueDInput,
    uMk: 0.21,
    used: { fromUtcUs: 0, toUtcUs: 1, firstSeq: 10, lastSeq: 90 },
    request,
  } as unknown as FoundPlateau
  return {
    key: name,
    session: `s-${name}`,
    sessionName: name,
    channel: 'cell',
    date: '2026-03-01',
    thermometer,
    fixedPoint: name,
    found,
  }
}

describe('readCell', () => {
  it('reads depths, pressures and uncertainties in the units people type', () => {
    const texts = {
      depth: '15 cm',
      uDepth: '3',
      pressure: '1013,25 hPa',
      uPressure: '0.1',
      uCell: '300 µK',
      uFlux: '',
    }
    const { said, problems } = readCell({ ...draft, texts })
    expect(problems).toEqual({})
    expect(said).toEqual({
      fixedPoint: 'Sn',
      depthM: 0.15,
      uDepthM: 0.003,
      pressurePa: 101_325,
      uPressurePa: 100,
      uCellMk: 0.3,
    })
  })

  it('takes self-heating from where it was told, and names what it cannot read', () => {
    expect(readCell({ ...draft, heating: 'register' }).said.withoutPair).toBe(true)
    expect(
      readCell({ ...draft, heating: 'typed', texts: { heat: '1.1', uHeat: '0.05' } }).said.selfHeating,
    ).toEqual({
      mk: 1.1,
      uMk: 0.05,
    })
    expect(Object.keys(readCell({ ...draft, texts: { depth: 'deep' } }).problems)).toEqual(['depth'])
  })
})

describe('resultOfSet', () => {
  it('says what a set lacks, and gives the coefficients back from plateaus without error', () => {
    expect(resultOfSet([], undefined).missing).toMatch(/No plateau/)
    expect(resultOfSet([plateau('Sn')], undefined).missing).toMatch(/water triple point is missing/)
    expect(resultOfSet([plateau('H2O')], undefined).missing).toMatch(/another cell/)
    expect(resultOfSet([plateau('H2O'), plateau('Sn', 0, 'other')], undefined).missing).toMatch(
      /different thermometers/,
    )
    const { calibration } = resultOfSet([plateau('H2O'), plateau('In'), plateau('Sn')], undefined)
    const of = (name: string) => calibration!.coefficients.find((c) => c.name === name)!
    // The reference function is 1.3 uK from 1 at the water triple point, and that is all that is left.
    expect(Math.abs(of('a').value - TRUE.a)).toBeLessThan(5e-8)
    expect(Math.abs(of('b').value - TRUE.b)).toBeLessThan(5e-8)
    expect(of('rWtp').value).toBeCloseTo(TRUE.rWtp, 6)
    const band = bandOf(calibration!)
    expect(band[0]!.celsius).toBe(0.01)
    expect(Math.max(...band.map((b) => b.expandedMk))).toBeLessThan(1.5)
    expect(setRWtp([plateau('H2O')])).toBeCloseTo(TRUE.rWtp, 6)
  })
})

describe('findingsOf', () => {
  it('holds W at gallium against the scale, and a plateau that does not fit against its uncertainty', () => {
    const set = [plateau('H2O'), plateau('Ga'), plateau('In', 4), plateau('Sn')]
    const { calibration } = resultOfSet(set, undefined)
    const findings = findingsOf(calibration!, undefined, requestOf(set, {}), '2026-03-01')
    expect(findings[0]).toMatchObject({ severity: 'fine' })
    expect(findings[0]!.words).toMatch(/W at gallium is 1\.118\d+; ITS-90 asks for at least 1.11807/)
    expect(findings.some(({ words }) => /^In lies .* mK from the coefficients/.test(words))).toBe(true)
  })
})

describe('noteOfSet', () => {
  it('leads back to the session, the channel and the readings of every plateau', () => {
    expect(noteOfSet([plateau('H2O'), plateau('Sn')])).toBe(
      'Plateaus: WTP in session s-H2O, channel cell, readings 10 to 90; Sn in session s-Sn, channel cell, readings 10 to 90.',
    )
  })
})

describe('readMoment', () => {
  it('reads a clock time on the day given and a whole date, and nothing else', () => {
    const at = new Date('2026-03-01T21:04:30').getTime() / 1000
    expect(readMoment('21:04:30', '2026-03-01')).toBe(at)
    expect(readMoment('2026-03-01 21:04:30', '2020-01-01')).toBe(at)
    for (const text of ['', 'soon', '25', '21:4', '2026-13-41 21:04'])
      expect(readMoment(text, '2026-03-01')).toBeUndefined()
  })
})

describe('guessCell', () => {
  it('reads the cell from the name of a session, and none from other words', () => {
    expect(guessCell('2026-03-01 Tin cell, practice')).toEqual({ fixedPoint: 'Sn' })
    expect(guessCell('Water triple point cell')).toEqual({ fixedPoint: 'H2O' })
    expect(guessCell('Overnight comparison in oil')).toEqual({})
  })
})

describe('dayOfSession', () => {
  it('is the day on which it began, whatever the day on which it is worked up', () => {
    const night = {
      id: 'n',
      name: 'n',
      about: '',
      points: 0,
      startedUtcUs: Date.UTC(2026, 2, 1, 23, 30) * 1000,
    }
    expect(dayOfSession([night], 'n')).toBe('2026-03-01')
    expect(dayOfSession([night], 'another')).toBeUndefined()
    expect(dayOfSession([night], undefined)).toBeUndefined()
  })
})

describe('firstCell', () => {
  it('begins with the water triple point, and goes on with the newest cell once the set has it', () => {
    const session = (name: string) => ({ id: name, name, about: '', startedUtcUs: 0, points: 0 })
    const sessions = [session('Night run'), session('Tin cell'), session('WTP cell')]
    expect(firstCell(sessions, false)).toMatchObject({ session: 'WTP cell', fixedPoint: 'H2O' })
    expect(firstCell(sessions, true)).toMatchObject({ session: 'Tin cell', fixedPoint: 'Sn' })
    expect(firstCell([], false)).toMatchObject({ session: '' })
  })
})

describe('timeAxis', () => {
  it('leaves what it writes room, and finds its way back from a pixel', () => {
    const axis = timeAxis(1.77e9, 1.77e9 + 400 * 86_400, 76, 276, 8, 13.5)
    const gaps = axis.ticks.slice(1).map((tick, i) => tick.px - axis.ticks[i]!.px)
    expect(Math.min(...gaps)).toBeGreaterThan(90)
    // On the widest screens letters are half as large again: a day takes 105 px there.
    const wide = timeAxis(1.77e9, 1.77e9 + 700 * 86_400, 76, 2840, 22, 21)
    expect(Math.min(...wide.ticks.slice(1).map((tick, i) => tick.px - wide.ticks[i]!.px))).toBeGreaterThan(
      120,
    )
    expect(axis.of(axis.at(1.7701e9))).toBeCloseTo(1.7701e9, 0)
    expect(spread([Number.NaN])).toEqual({ low: 0, high: 1 })
  })
})
