import { describe, expect, it } from 'vitest'
import { CONVERSION_FORMS, RESISTOR_CALIBRATION_FIELDS } from '../../../renderer/desk/record-fields.ts'
import { fieldsFor, readForm, textsOf } from '../../../renderer/parts/forms.ts'
import {
  coefficientLines,
  draftOf,
  newCalibration,
  readEntry,
} from '../../../renderer/register/register.model.ts'
import { makeRegister } from '../../browser/fake/records.ts'

const register = makeRegister(3)

describe('readEntry', () => {
  it('gives back every record of a register unchanged', () => {
    for (const shelf of ['thermometers', 'resistors', 'instruments', 'fluids'] as const)
      for (const entry of register[shelf]) {
        const { entry: again, problems } = readEntry(shelf, draftOf(shelf, entry, ''))
        expect(problems).toEqual({})
        expect(again).toEqual(entry)
      }
  })

  it('keeps every digit of a certificate, comma or point', () => {
    const draft = draftOf('thermometers', register.thermometers[2], '')
    const calibration = newCalibration('thermometers', '2026-11-01', { kind: 'prt' })
    const { entry } = readEntry('thermometers', {
      ...draft,
      calibration: {
        ...calibration,
        kind: 'its90',
        coefficients: { rWtp: '25,4870000', subrange: '3.3.2.5', 'coefficients.a': '-1.2340e-4' },
        uncertainty: { k: '2', points: '0,01 1,2\n156.6 2.5' },
      },
    })
    const added = (entry as (typeof register.thermometers)[number]).calibrations.at(-1)!
    expect(added.conversion).toEqual({
      kind: 'its90',
      rWtp: '25.4870000',
      subrange: '3.3.2.5',
      coefficients: { a: '-1.2340e-4' },
    })
    expect(added.uncertainty?.points).toEqual([
      { celsius: 0.01, expandedMk: 1.2 },
      { celsius: 156.6, expandedMk: 2.5 },
    ])
    expect(coefficientLines(added.conversion)).toContainEqual({ name: 'rWtp', value: '25.4870000' })
  })

  it('says of a missing field of a group what to do, in the words of the form', () => {
    const draft = draftOf('instruments', undefined, 'new')
    const { problems } = readEntry('instruments', {
      ...draft,
      texts: {
        ...draft.texts,
        name: 'B',
        'bridge.linearityRatio': '0.02',
        'bridge.resolutionRatio': '0.001',
      },
    })
    expect(problems.whole).toBe('Highest ratio is missing. Enter it, or empty the other bridge fields.')
  })

  it('names the field that cannot be read, in the calibration too', () => {
    const draft = {
      ...draftOf('thermometers', undefined, 'new'),
      calibration: newCalibration('thermometers', '2026-11-01', { kind: 'prt' }),
    }
    const { entry, problems } = readEntry('thermometers', draft)
    expect(entry).toBeUndefined()
    expect(problems).toHaveProperty('name')
    expect(problems).toHaveProperty(['calibration.r0'])
  })
})

describe('fieldsFor', () => {
  const its90 = CONVERSION_FORMS.its90!.fields
  const shown = (texts: Record<string, string>) =>
    fieldsFor(its90, texts).flatMap(({ key }) =>
      /coefficients\.(\w+)$/.exec(key) ? [key.split('.').at(-1)!] : [],
    )

  it('asks for the coefficients that a subrange has, and no others', () => {
    expect(shown({ subrange: '3.3.2.3' })).toEqual(['a', 'b'])
    expect(shown({ subrange: '3.3.1' })).toEqual(['a', 'b', 'c1', 'c2', 'c3', 'c4', 'c5'])
    expect(shown({ subrange: '3.3.2.1', 'joined.subrange': '3.3.1.3' })).toEqual(['a', 'b', 'c', 'a', 'b'])
  })

  it('names a subrange by its fixed points and temperatures', () => {
    const names = its90.find(({ key }) => key === 'subrange')!.choices!.map(({ name }) => name)
    expect(names).toContain('3.3.2.3: water to tin, 0 to 231.928 °C')
    expect(names.find((name) => name.startsWith('3.3.3'))).toMatch(/mercury to gallium/)
  })

  it('shows a relative value in ppm and keeps it as it was', () => {
    const field = RESISTOR_CALIBRATION_FIELDS.find(({ key }) => key === 'expandedRelative')!
    expect(textsOf({ expandedRelative: 4e-7 }, [field])).toEqual({ expandedRelative: '0.4' })
    for (const [typed, kept] of [
      ['0,4', 4e-7],
      ['0.4 ppm', 4e-7],
      ['0.0001 %', 1e-6],
    ] as const)
      expect(readForm({ expandedRelative: typed }, [field]).record).toEqual({ expandedRelative: kept })
  })
})
