import { describe, expect, it } from 'vitest'
import { ResistorNetwork } from '../../../simulator/physics/network.ts'
import { randomStream } from '../../../simulator/physics/randomness.ts'
import { ResistorBody } from '../../../simulator/physics/resistor.ts'

const body = (id: string, ohm: number) =>
  new ResistorBody(
    { id, ohm, celsius: 20, alphaPerK: 0, betaPerK2: 0, keptAtC: 20, wanderK: 0, wanderMemoryS: 1 },
    randomStream(1, id),
  )
const resistors = new Map([
  ['a', body('a', 25)],
  ['b', body('b', 50)],
  ['c', body('c', 100)],
])
const ohm = (wiring: ConstructorParameters<typeof ResistorNetwork>[0]['wiring']) =>
  new ResistorNetwork({ id: 'net', wiring }, resistors).meanResistance(0, 1)

describe('ResistorNetwork', () => {
  it('adds resistors in series and conductances in parallel, nested too', () => {
    expect(ohm('b')).toBe(50)
    expect(ohm({ series: ['a', 'b', 'c'] })).toBe(175)
    expect(ohm({ parallel: ['b', 'c'] })).toBeCloseTo(100 / 3, 12)
    expect(ohm({ series: ['a', { parallel: ['b', 'c'] }] })).toBeCloseTo(25 + 100 / 3, 12)
  })

  it('knows only resistors that are in the box', () => {
    expect(() => ohm('d')).toThrow(/no resistor d/)
  })
})
