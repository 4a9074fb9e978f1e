import { describe, expect, it } from 'vitest'
import { registeredHeatingMk } from '../../../app/live/registered-heating.ts'

const prt = { kind: 'prt', selfHeatingMk: 2, currentMa: 1, nominalOhm: 100 } as const
const none = () => Number.NaN

describe('registeredHeatingMk', () => {
  it('goes with the power: the square of the current, and the resistance it flows through', () => {
    expect(registeredHeatingMk(prt, 1, 100, none)).toBe(2)
    expect(registeredHeatingMk(prt, 3, 100, none)).toBe(18)
    expect(registeredHeatingMk({ ...prt, currentMa: 0.5 }, 1, 100, none)).toBe(8)
    expect(registeredHeatingMk(prt, 1, 150, none)).toBe(3)
  })

  it('takes the nominal resistance from the conversion, at 0 °C for platinum, where none is stated', () => {
    const asked: number[] = []
    const nominalOhm = (celsius: number) => {
      asked.push(celsius)
      return 25
    }
    expect(registeredHeatingMk({ ...prt, nominalOhm: undefined }, 1, 50, nominalOhm)).toBe(4)
    expect(asked).toEqual([0])
  })

  it('leaves the resistance aside where it is not known, and is nothing where nothing is stated', () => {
    expect(registeredHeatingMk({ ...prt, nominalOhm: undefined }, 2, 50, none)).toBe(8)
    expect(registeredHeatingMk(prt, 2, Number.NaN, none)).toBe(8)
    expect(registeredHeatingMk({ ...prt, selfHeatingMk: undefined }, 2, 50, none)).toBe(0)
    expect(registeredHeatingMk({ ...prt, nominalOhm: undefined }, 1, 50, () => 0)).toBe(2)
  })
})
