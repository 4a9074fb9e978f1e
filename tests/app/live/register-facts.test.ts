import { describe, expect, it } from 'vitest'
import { holdsAtZeroCurrent } from '../../../app/live/calibration-current.ts'
import { celsiusAs, perKelvin, quantityOfUnit, unitOfChannel } from '../../../app/live/channel-unit.ts'
import { registeredHeatingMk } from '../../../app/live/registered-heating.ts'
import { unitBelongs } from '../../../app/live/unit-belongs.ts'

describe('registeredHeatingMk', () => {
  const prt = { kind: 'prt', selfHeatingMk: 4, currentMa: 1, nominalOhm: 100 } as const
  const never = () => Number.NaN

  it('goes with the power: the square of the current, and the resistance', () => {
    expect(registeredHeatingMk(prt, 1, 100, never)).toBe(4)
    expect(registeredHeatingMk(prt, 2, 100, never)).toBe(16)
    expect(registeredHeatingMk(prt, 1, 138.5, never)).toBeCloseTo(5.54, 12)
    expect(registeredHeatingMk({ ...prt, currentMa: 2 }, 1, 100, never)).toBe(1)
    expect(registeredHeatingMk({ ...prt, selfHeatingMk: undefined }, 1, 100, never)).toBe(0)
    expect(registeredHeatingMk({ ...prt, selfHeatingMk: 0 }, 1, 100, never)).toBe(0)
  })

  it('asks the conversion where no nominal resistance is stated, and does without one where there is none', () => {
    const untold = { ...prt, nominalOhm: undefined }
    const asked: number[] = []
    const conversion = (celsius: number) => {
      asked.push(celsius)
      return 50
    }
    expect(registeredHeatingMk(untold, 1, 100, conversion)).toBe(8)
    // Platinum is named by its resistance at the ice point (IEC 60751).
    expect(asked).toEqual([0])
    expect(registeredHeatingMk(untold, 1, 100, never)).toBe(4)
    expect(registeredHeatingMk(untold, 1, 100, () => 0)).toBe(4)
    expect(registeredHeatingMk(prt, 1, Number.NaN, never)).toBe(4)
  })
})

describe('holdsAtZeroCurrent', () => {
  const at = (kind: string, atZeroCurrent?: boolean) =>
    holdsAtZeroCurrent({
      conversion: { kind } as never,
      ...(atZeroCurrent !== undefined && { atZeroCurrent }),
    })

  it('goes by the conversion, unless the certificate says so itself', () => {
    expect(['its90', 'steinhart-hart', 'beta'].map((kind) => at(kind))).toEqual([true, true, true])
    expect(['callendar-van-dusen', 'iec60751', 'table'].map((kind) => at(kind))).toEqual([
      false,
      false,
      false,
    ])
    expect(at('its90', false)).toBe(false)
    expect(at('callendar-van-dusen', true)).toBe(true)
  })
})

describe('unitBelongs', () => {
  it('gives voltages to thermocouples, resistances to all others, and temperatures to each', () => {
    const units = ['V', 'mV', 'ohm', 'ratio', 'degC', 'K'] as const
    const taken = (kind: Parameters<typeof unitBelongs>[0]) => units.filter((unit) => unitBelongs(kind, unit))
    expect(taken('thermocouple')).toEqual(['V', 'mV', 'degC', 'K'])
    for (const kind of ['sprt', 'prt', 'thermistor'] as const)
      expect(taken(kind)).toEqual(['ohm', 'ratio', 'degC', 'K'])
    expect(taken('other')).toEqual([...units])
    expect(taken(undefined)).toEqual([...units])
  })
})

describe('the unit of a channel', () => {
  it('is what the bench says, else degC where a thermometer hangs there', () => {
    expect(unitOfChannel({ unit: 'ohm', thermometer: 't' })).toBe('ohm')
    expect(unitOfChannel({ thermometer: 't' })).toBe('degC')
    expect(unitOfChannel({})).toBeUndefined()
  })

  it('shows temperatures by its scale', () => {
    expect(celsiusAs(25, 'degC')).toBe(25)
    expect(celsiusAs(25, 'K')).toBe(298.15)
    expect([-40, 0, 100].map((t) => celsiusAs(t, 'degF'))).toEqual([-40, 32, 212])
    expect([perKelvin('degF'), perKelvin('degC'), perKelvin('K'), perKelvin('ohm')]).toEqual([1.8, 1, 1, 1])
    expect((['degC', 'K', 'degF', 'ohm', 'mV', 'ratio'] as const).map(quantityOfUnit)).toEqual([
      ...['temperature', 'temperature', 'temperature', 'resistance', 'resistance', 'raw'],
    ])
  })
})
