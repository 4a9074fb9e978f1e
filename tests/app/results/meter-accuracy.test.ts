import { describe, expect, it } from 'vitest'
import { meterFacts } from '../../../app/results/meter-accuracy.ts'

type Register = Parameters<typeof meterFacts>[0]
type Stated = NonNullable<Parameters<typeof meterFacts>[2]>

const range = (quantity: string, top: number, readingPpm: number, rangePpm: number, more: object = {}) => ({
  ...{ quantity, range: top, readingPpm, rangePpm, perKelvinPpm: 0, withinK: 0, source: 'sheet' },
  ...more,
})
const meter = (...accuracy: object[]) => ({ id: 'm', name: 'Meter', accuracy }) as unknown as Register
const stated = (more: object) => ({ title: 'Meter', ranges: [], set: null, ...more }) as unknown as Stated

/** Half-width of what is stated, in parts per million of the value: that of a rectangle is the root of 3 of its u. */
const ppmAt = (facts: ReturnType<typeof meterFacts>, value: number) =>
  facts!.uRelative(value) * Math.sqrt(3) * 1e6

describe('meterFacts, by the register', () => {
  const ohms = meter(range('ohm', 1000, 20, 5), range('ohm', 100, 30, 10, { perKelvinPpm: 2, withinK: 5 }))

  it('takes the smallest range that holds the value, its top as well, and the widest beyond all', () => {
    const facts = meterFacts(ohms, 'ohm')
    // 30 + 2 x 5 parts per million of the reading, and 10 of 100 ohm.
    expect(ppmAt(facts, 50)).toBeCloseTo(40 + 20, 9)
    expect(ppmAt(facts, 100)).toBeCloseTo(40 + 10, 9)
    expect(ppmAt(facts, 100.1)).toBeCloseTo(20 + (5 * 1000) / 100.1, 9)
    expect(ppmAt(facts, 2000)).toBeCloseTo(20 + (5 * 1000) / 2000, 9)
    expect(facts!.source).toBe('accuracy of Meter: sheet')
  })

  it('takes the range that was set, where it is wider than the value needs', () => {
    const set = stated({ set: { name: '1000', upTo: 1000 } })
    expect(ppmAt(meterFacts(ohms, 'ohm', set), 50)).toBeCloseTo(20 + (5 * 1000) / 50, 9)
  })

  it('reads millivolts of a thermocouple by ranges in volt, of either sign', () => {
    const volts = meter(range('V', 0.1, 30, 10), range('V', 1, 20, 5))
    for (const unit of ['V', 'mV']) {
      expect(ppmAt(meterFacts(volts, unit), 4)).toBeCloseTo(30 + (10 * 100) / 4, 9)
      expect(ppmAt(meterFacts(volts, unit), -4)).toBeCloseTo(30 + (10 * 100) / 4, 9)
    }
    // A range that was set is in the instrument's own unit.
    const set = (upTo: number) => stated({ set: { name: 'set', upTo } })
    expect(ppmAt(meterFacts(volts, 'V', set(1)), 4)).toBeCloseTo(20 + (5 * 1000) / 4, 9)
    expect(ppmAt(meterFacts(volts, 'mV', set(1000)), 4)).toBeCloseTo(20 + (5 * 1000) / 4, 9)
    expect(ppmAt(meterFacts(volts, 'mV', set(1)), 4)).toBeCloseTo(30 + (10 * 100) / 4, 9)
  })

  it('says nothing of a quantity of which it states nothing', () => {
    expect(meterFacts(ohms, 'V')).toBeNull()
    expect(meterFacts(ohms, 'ratio')).toBeNull()
    expect(meterFacts(meter(), 'ohm')).toBeNull()
    expect(meterFacts(null, 'ohm')).toBeNull()
  })
})

describe('meterFacts, by the profile', () => {
  const fine = { readingPpm: 3, rangePpm: 1 }
  const coarse = { readingPpm: 8, rangePpm: 2 }
  const ranges = [
    { name: '1000', upTo: 1000, accuracy: coarse },
    { name: '100', upTo: 100, accuracy: fine },
    { name: '10', upTo: 10 },
  ]

  it('takes the smallest range with an accuracy that holds the value', () => {
    const facts = meterFacts(null, 'ohm', stated({ ranges }))
    expect(ppmAt(facts, 5)).toBeCloseTo(3 + 100 / 5, 9)
    expect(ppmAt(facts, 100)).toBeCloseTo(3 + 1, 9)
    expect(ppmAt(facts, 200)).toBeCloseTo(8 + (2 * 1000) / 200, 9)
    expect(ppmAt(facts, 5000)).toBeCloseTo(8 + (2 * 1000) / 5000, 9)
    expect(facts!.source).toBe('accuracy in the profile Meter')
  })

  it('takes the range that was set, by its own top, and names it', () => {
    const facts = meterFacts(null, 'ohm', stated({ ranges, set: ranges[0] }))
    expect(ppmAt(facts, 5)).toBeCloseTo(8 + (2 * 1000) / 5, 9)
    expect(facts!.source).toBe('accuracy in the profile Meter, range 1000')
  })

  it('takes the widest top known where an instrument chooses its range by itself, and the value where none is', () => {
    const automatic = { name: 'automatic', accuracy: coarse }
    const beyond = meterFacts(null, 'ohm', stated({ ranges: [ranges[1], automatic] }))
    expect(ppmAt(beyond, 50)).toBeCloseTo(3 + 100 / 50, 9)
    expect(ppmAt(beyond, 400)).toBeCloseTo(8 + (2 * 100) / 400, 9)
    expect(ppmAt(meterFacts(null, 'ohm', stated({ ranges: [automatic] })), 400)).toBeCloseTo(8 + 2, 9)
  })

  it('reads in the instrument’s own unit, and gives way to the register', () => {
    // A ratio to 100 ohm: of 50 ohm 0.5.
    const ratio = stated({ ranges: [{ name: 'all', upTo: 4, accuracy: fine }] })
    expect(ppmAt(meterFacts(null, 'ratio', ratio, 1 / 100), 50)).toBeCloseTo(3 + 4 / 0.5, 9)
    const own = meterFacts(meter(range('ohm', 100, 30, 10)), 'ohm', stated({ ranges }))
    expect(own!.source).toBe('accuracy of Meter: sheet')
  })

  it('says nothing where no range states an accuracy', () => {
    expect(meterFacts(null, 'ohm', stated({ ranges: [ranges[2]] }))).toBeNull()
    expect(meterFacts(null, 'ohm')).toBeNull()
  })
})
