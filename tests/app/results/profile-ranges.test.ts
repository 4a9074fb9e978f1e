import { describe, expect, it } from 'vitest'
import { betweenTemperatures } from '../../../app/results/between.ts'
import { rangesOf } from '../../../app/results/profile-ranges.ts'

type Setup = Parameters<typeof rangesOf>[1]

const setupWith = (profile: string, text?: string): Setup =>
  ({
    bench: {
      instruments: [
        { id: 'other', profile: 'x' },
        { id: 'meter', profile },
      ],
    },
    profiles: text === undefined ? {} : { [profile]: text },
  }) as unknown as Setup
const channel = (range?: string) => ({ instrument: 'meter', range })
const RANGES = [{ name: '100', upTo: 100, accuracy: { readingPpm: 3, rangePpm: 1 } }, { name: 'automatic' }]

describe('rangesOf', () => {
  const text = JSON.stringify({
    title: 'Meter DM-7',
    ranges: RANGES,
    parts: { second: { ranges: [{ name: '10', upTo: 10 }] } },
  })

  it('gives the ranges of the profile that was measured with, and the one that was set', () => {
    const found = rangesOf(channel('100'), setupWith('dm-7', text))
    expect(found).toEqual({ ranges: RANGES, set: RANGES[0], title: 'Meter DM-7' })
    expect(rangesOf(channel('1000'), setupWith('dm-7', text)).set).toBeUndefined()
    expect(rangesOf(channel(), setupWith('dm-7', text)).set).toBeUndefined()
  })

  it('takes no range for set where the instrument chooses by itself', () => {
    expect(rangesOf(channel('automatic'), setupWith('dm-7', text)).set).toBeUndefined()
  })

  it('gives a second instrument of the same case its own', () => {
    expect(rangesOf(channel('10'), setupWith('dm-7/second', text))).toMatchObject({
      ranges: [{ name: '10' }],
      set: { upTo: 10 },
    })
    expect(rangesOf(channel(), setupWith('dm-7/third', text)).ranges).toEqual(RANGES)
  })

  it('says nothing of a profile that was not kept or is none, and names it by its id', () => {
    const nothing = { ranges: [], set: undefined, title: 'dm-7' }
    expect(rangesOf(channel('100'), setupWith('dm-7'))).toEqual(nothing)
    expect(rangesOf(channel('100'), setupWith('dm-7', '{"ranges":'))).toEqual(nothing)
    expect(rangesOf(channel('100'), setupWith('dm-7', '{"ranges":[{"name":1}]}'))).toEqual(nothing)
    expect(rangesOf(channel('100'), setupWith('dm-7', '{}'))).toEqual(nothing)
    expect(rangesOf({ instrument: 'gone' }, setupWith('dm-7', text))).toEqual({ ...nothing, title: '' })
  })
})

describe('betweenTemperatures', () => {
  it('is linear in each stretch, whatever the order in which they are named', () => {
    const values = [
      { celsius: 100, mk: 3 },
      { celsius: -50, mk: 9 },
      { celsius: 0, mk: 1 },
    ]
    expect([-60, -50, -25, 0, 50, 100, 200].map((t) => betweenTemperatures(values, 'mk', t))).toEqual([
      ...[9, 9, 5, 1, 2, 3, 3],
    ])
    expect(betweenTemperatures([{ celsius: 20, mk: 7 }], 'mk', 80)).toBe(7)
  })
})
