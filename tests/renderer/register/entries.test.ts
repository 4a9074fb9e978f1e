import { describe, expect, it } from 'vitest'
import { pathOf, readPath } from '../../../renderer/register/register.address.ts'
import { draftOf, newCalibration, readEntry } from '../../../renderer/register/register.model.ts'
import { lookWhileTyping } from '../../../renderer/register/typing.model.ts'
import { makeRegister } from '../../browser/fake/records.ts'

describe('readPath', () => {
  it('finds every part of the Register again that it wrote', () => {
    for (const address of [
      { view: 'thermometers', check: 'fixed-points', id: null, editing: false },
      { view: 'thermometers', check: 'fixed-points', id: null, editing: true },
      { view: 'resistors', check: 'fixed-points', id: 'rs-100', editing: false },
      { view: 'resistors', check: 'fixed-points', id: 'rs-100', editing: true },
      { view: 'checks', check: 'networks', id: null, editing: false },
      { view: 'ledger', check: 'fixed-points', id: null, editing: false },
    ] as const)
      expect(readPath(pathOf(address))).toEqual(address)
    expect(readPath(['nonsense'])).toEqual({
      view: 'thermometers',
      check: 'fixed-points',
      id: null,
      editing: false,
    })
  })
})

describe('lookWhileTyping', () => {
  const register = makeRegister(3)
  const typing = (coefficients: Record<string, string>, kind = 'callendar-van-dusen') =>
    lookWhileTyping({
      ...draftOf('thermometers', register.thermometers[2], ''),
      calibration: { ...newCalibration('thermometers', '2026-11-01', { kind: 'prt' }), kind, coefficients },
    })

  it('says nothing of coefficients that are not whole yet', () => {
    expect(typing({ r0: '100' })).toBeUndefined()
    expect(typing({ r0: '100', a: '3,9083e-', b: '' })).toBeUndefined()
  })

  it('sees swapped digits before the rest of the record is typed, and shows values for the certificate’s table', () => {
    const wrong = typing({ r0: '100,0031', a: '3.0983e-3', b: '-5.775e-7' })!
    expect(wrong.findings[0]!.words).toMatch(/make alpha .* wrong sign or exponent/)
    const right = typing({ r0: '100,0031', a: '3.9083e-3', b: '-5.775e-7' })!
    expect(right.findings).toEqual([])
    // IEC 60751: 138.5055 ohm at 100 degC for R0 = 100 ohm.
    const at100 = right.rows.find(({ celsius }) => celsius === 100)!
    expect(at100.signal / 100.0031).toBeCloseTo(1.385055, 6)
  })

  it('asks of ITS-90 coefficients what the scale asks of a thermometer', () => {
    const { findings } = typing(
      { rWtp: '25.5', 'coefficients.a': '-8.7e-3', 'coefficients.b': '-6e-6' },
      'its90',
    )!
    expect(findings.map(({ words }) => words).join(' ')).toMatch(
      /1\.11807|differs from the reference function/,
    )
  })
})

describe('readEntry', () => {
  it('keeps whether a calibration holds at zero current, or leaves it open', () => {
    const base = draftOf('thermometers', makeRegister(3).thermometers[2], '')
    const zero = (atZeroCurrent: string | undefined) => {
      const calibration = newCalibration('thermometers', '2026-11-01', { kind: 'prt' })
      const texts = { ...calibration.texts, ...(atZeroCurrent && { atZeroCurrent }) }
      const coefficients = { r0: '100', a: '3.9083e-3', b: '-5.775e-7' }
      const { entry } = readEntry('thermometers', {
        ...base,
        calibration: { ...calibration, texts, coefficients },
      })
      return (entry as { calibrations: { atZeroCurrent?: boolean }[] }).calibrations.at(-1)!.atZeroCurrent
    }
    expect(zero('yes')).toBe(true)
    expect(zero('no')).toBe(false)
    expect(zero(undefined)).toBeUndefined()
  })
})
