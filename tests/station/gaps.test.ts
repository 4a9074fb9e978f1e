import { expect, it } from 'vitest'
import { sentenceOf } from '../../app/messages/said.ts'
import { Gaps } from '../../main/station/gaps.ts'

const at = (s: number) => ({ utcUs: 1e15 + s * 1e6, monoUs: s * 1e6 })

it('has one gap of a channel from its last good moment to its next, with the cause it began with', () => {
  const gaps = new Gaps()
  expect(gaps.close('ref', 'Reference', at(5))).toBeUndefined()
  expect(gaps.open('ref', at(10), 'the scanner is lost')).toBe(true)
  expect(gaps.open('ref', at(40), 'something else')).toBe(false)
  expect(gaps.open('x1', at(12), 'the scanner is lost')).toBe(true)
  expect([gaps.size, gaps.isOpen('ref'), gaps.isOpen('x2')]).toEqual([2, true, false])
  expect(gaps.list()).toEqual([
    { channel: 'ref', from: at(10), cause: 'the scanner is lost' },
    { channel: 'x1', from: at(12), cause: 'the scanner is lost' },
  ])
  const told = gaps.close('ref', 'Reference', at(70))!
  expect(told).toMatchObject({
    kind: 'gap',
    subject: 'ref',
    data: { fromUtcUs: at(10).utcUs, toUtcUs: at(70).utcUs, seconds: 60, cause: 'the scanner is lost' },
  })
  expect(sentenceOf(told.said)).toBe('Reference: no valid reading for 60 s: the scanner is lost.')
  expect([gaps.size, gaps.isOpen('ref')]).toEqual([1, false])
})
