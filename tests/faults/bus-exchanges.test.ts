import { describe, expect, it } from 'vitest'
import { runBus } from '../soak/buses/exchanges.ts'
import { SOAK_BUSES } from '../soak/buses/peer.ts'

// The short form of `npm run soak -- --buses N`.
describe.each(SOAK_BUSES)('exchanges with faults over %s', (bus) => {
  it.each([1, 2])('believe no wrong answer and let no order through late (seed %i)', async (seed) => {
    const run = await runBus(bus, 800, seed)
    expect(run).toMatchObject({ wrong: 0, stale: 0 })
    // The faults cost few answers, and the link comes back after each.
    expect(run.good).toBeGreaterThan(400)
    expect(run.reconnects).toBeGreaterThan(5)
  })
})
