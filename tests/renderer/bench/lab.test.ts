import { describe, expect, it } from 'vitest'
import { LAB_SCENARIOS } from '../../../renderer/bench/LabAsk.tsx'
import { SCENARIOS } from '../../../simulator/scenarios/index.ts'

describe('LAB_SCENARIOS', () => {
  it('offers no scenario that the lab does not have', () => {
    expect(Object.keys(SCENARIOS)).toEqual(expect.arrayContaining(LAB_SCENARIOS.map(({ id }) => id)))
  })
})
