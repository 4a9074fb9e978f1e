import { beforeEach, describe, expect, it } from 'vitest'
import { forgetWanted, handBack, wantRecord } from '../../../renderer/desk/wanted-record.model.ts'

const BACK = { place: 'orders', path: ['o-1', 'bench'] } as const
let taken: string[]
const want = () => wantRecord({ shelf: 'resistors', back: BACK, take: (id) => taken.push(id) })

beforeEach(() => {
  taken = []
  forgetWanted()
})

describe('a list that misses a record', () => {
  it('has it entered in the Register, takes it, and has the window back where it was, once', () => {
    expect(want()).toEqual({ place: 'register', path: ['resistors', '+'] })
    expect(handBack('resistors', 'rs-9')).toEqual(BACK)
    expect(taken).toEqual(['rs-9'])
    expect(handBack('resistors', 'rs-10')).toBeUndefined()
    expect(taken).toEqual(['rs-9'])
  })

  it('has the window back without a record where that is given up', () => {
    want()
    expect(handBack('resistors', undefined)).toEqual(BACK)
    expect(taken).toEqual([])
  })

  it('takes no record of another shelf, and none once whoever went there has gone elsewhere', () => {
    want()
    expect(handBack('thermometers', 't-1')).toBeUndefined()
    forgetWanted()
    expect(handBack('resistors', 'rs-9')).toBeUndefined()
    expect(taken).toEqual([])
  })
})
