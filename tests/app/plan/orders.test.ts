import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { companionOf, orderInWords, pairOrder, pointOrder, readingOrder } from '../../../app/plan/orders.ts'

const words = (order: 'sequence' | 'symmetric' | 'interleaved', n: number) => {
  const xs = Array.from({ length: n }, (_, i) => `x${i}`)
  return orderInWords(readingOrder(order, ['s'], xs), ['s'], xs)
}

describe('readingOrder', () => {
  it('reads in the three orders', () => {
    expect(words('sequence', 3)).toBe('S X1 X2 X3')
    expect(words('symmetric', 3)).toBe('S X1 X2 X3 X3 X2 X1 S')
    expect(words('interleaved', 3)).toBe('S X1 S X2 S X3 S')
    expect(words('interleaved', 0)).toBe('S')
  })

  it('writes long runs short', () => {
    expect(words('symmetric', 50)).toBe('S X1..X50 X50..X1 S')
    expect(words('sequence', 6)).toBe('S X1..X6')
    expect(words('symmetric', 5)).toBe('S X1 X2 X3 X4 X5 X5 X4 X3 X2 X1 S')
  })

  it('cancels a linear drift in the symmetric order: every channel has the same mean place', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 30 }), (n) => {
        const xs = Array.from({ length: n }, (_, i) => `x${i}`)
        const stops = readingOrder('symmetric', ['s'], xs)
        const middle = (stops.length - 1) / 2
        for (const channel of ['s', ...xs]) {
          const places = stops.flatMap((c, i) => (c === channel ? [i] : []))
          expect(places.reduce((a, b) => a + b, 0) / places.length).toBe(middle)
        }
      }),
    )
  })

  it('reads the channels of a bridge without a reference by themselves', () => {
    expect(readingOrder('symmetric', [], ['a', 'b'])).toEqual(['a', 'b', 'b', 'a'])
  })
})

describe('pointOrder', () => {
  it('reads no thermometer of a sequence without the reference before and after it', () => {
    expect(pointOrder('sequence', 2, ['s'], ['a', 'b'])).toEqual(['s', 'a', 'b', 's', 'a', 'b', 's'])
    expect(pointOrder('sequence', 1, ['s'], ['a'])).toEqual(['s', 'a', 's'])
    expect(pointOrder('sequence', 2, ['s'], [])).toEqual(['s', 's'])
    expect(pointOrder('sequence', 2, ['s'], ['a'])).toEqual(['s', 'a', 's', 'a', 's'])
    expect(pointOrder('sequence', 2, ['s'], [])).toEqual(['s', 's'])
    expect(pointOrder('symmetric', 1, ['s'], ['a'])).toEqual(['s', 'a', 'a', 's'])
    expect(pointOrder('sequence', 2, [], ['a'])).toEqual(['a', 'a'])
  })
})

describe('companionOf', () => {
  const on = (id: string, role: 'reference' | 'under-test' | 'monitor', reference?: string) => ({
    ...{ id, role },
    reference: reference === undefined ? undefined : ({ kind: 'channel', channel: reference } as const),
  })
  const lane = [on('m', 'monitor'), on('r', 'under-test', 's'), on('x', 'under-test'), on('s', 'reference')]

  it('is a reference, for a reference another thermometer, and nobody that is only watched or read against another', () => {
    expect(companionOf('x', lane)).toBe('s')
    expect(companionOf('s', lane)).toBe('x')
    expect(companionOf('x', [...lane.slice(0, 3), on('y', 'under-test')])).toBe('y')
    expect(companionOf('x', lane.slice(0, 3))).toBeUndefined()
  })
})

describe('pairOrder', () => {
  it('alternates the currents with the companion before, between and after', () => {
    const words = pairOrder('x', 's').map(({ channel, currentFactor }) =>
      currentFactor === undefined ? channel : currentFactor > 1 ? 'H' : 'L',
    )
    expect(words.join(' ')).toBe('s L H s H L s L H s H L s')
    expect(pairOrder('x', undefined)).toHaveLength(8)
  })
})
