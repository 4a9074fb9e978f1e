import { describe, expect, it } from 'vitest'
import { readAddress, writeAddress } from '../../../renderer/page/address.ts'
import { pointsPath, readPointsPath } from '../../../renderer/page/points-address.ts'

describe('readAddress', () => {
  it('finds again what was written, whatever stands in a name', () => {
    for (const path of [[], ['s-1'], ['s-1', 'point', 'point-3'], ['Nº 7/8 %', 'naïve #1']]) {
      const address = { place: 'points' as const, path }
      expect(readAddress(writeAddress(address))).toEqual(address)
    }
  })

  it('names no place where the address does not, and takes a part that was cut short as it stands', () => {
    expect(readAddress('')).toBeUndefined()
    expect(readAddress('#nowhere/1')).toBeUndefined()
    expect(readAddress('#points/%E0%A4')).toEqual({ place: 'points', path: ['%E0%A4'] })
  })
})

describe('readPointsPath', () => {
  it('has an address for a session, its report and every point of it', () => {
    for (const address of [
      { session: null, report: false, point: null },
      { session: null, report: true, point: null },
      { session: 's-1', report: true, point: null },
      { session: 's-1', report: false, point: 'point-3' },
    ])
      expect(readPointsPath(pointsPath(address))).toEqual(address)
  })
})
