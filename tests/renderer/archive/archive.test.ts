import { describe, expect, it } from 'vitest'
import { sketchPath } from '../../../renderer/archive/archive.model.ts'

describe('sketchPath', () => {
  it('lifts the pen at gaps and draws nothing from less than two values', () => {
    expect(sketchPath([0, 1, null, 2, 3]).match(/M/g)).toHaveLength(2)
    expect(sketchPath([null, 5, null])).toBe('')
    expect(sketchPath([4, 4, 4])).not.toContain('NaN')
  })
})
