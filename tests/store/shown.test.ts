import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import type { Channel } from '../../app/records/bench.ts'
import { ShownReadings } from '../../main/store/export/shown.ts'
import { createSessionFile } from '../../main/store/session-file.ts'
import { BENCH, REGISTER, reading } from '../app/results/bench-fixture.ts'
import { exampleClock, exampleInfo, exampleSetup, temporaryFolder } from './example.ts'

const [ref] = BENCH.channels

function shownOf(channels: readonly Partial<Channel>[], register = REGISTER) {
  const bench = { ...BENCH, channels: channels.map((more) => ({ ...ref!, ...more })) }
  const file = createSessionFile(join(temporaryFolder(), 'shown.session'), {
    info: { ...exampleInfo, startedUtcUs: Date.UTC(2025, 6, 1) * 1000 },
    setup: { ...exampleSetup, bench, register },
    clock: exampleClock(),
  })
  const shown = new ShownReadings(file)
  file.close()
  return shown
}

/** R(WTP) of the reference since 2025-06-01 over the resistor, as the fixture's records have them: 25.50005 ohm, 100.0012 ohm. */
const AT_WTP = 25.50005 / 100.0012

describe('what is shown beside a reading', () => {
  it('is in the unit of its channel: degC, K, degF, ohm or the ratio', () => {
    const shown = shownOf([
      { id: 'c', unit: undefined },
      { id: 'k', unit: 'K' },
      { id: 'f', unit: 'degF' },
      { id: 'r', unit: 'ohm' },
      { id: 'n', unit: 'ratio' },
    ])
    const of = (channel: string) => shown.of(reading(1, channel, 0, String(AT_WTP)))
    // At the triple point, less its own heating of 2 mK.
    const celsius = 0.01 - 0.002
    expect(of('c')).toMatchObject({ channelName: 'Reference', thermometer: 'SPRT', shownUnit: 'degC' })
    expect(of('c').celsius).toBeCloseTo(celsius, 5)
    expect(of('c').shown).toBe(of('c').celsius)
    expect(of('k').shown).toBeCloseTo(273.15 + celsius, 5)
    expect(of('f').shown).toBeCloseTo(32 + 1.8 * celsius, 5)
    expect(of('r')).toMatchObject({
      shown: 25.50005,
      shownUnit: 'ohm',
      resistanceOhm: 25.50005,
      voltageMv: null,
    })
    expect(of('n')).toMatchObject({ shown: Number(AT_WTP.toPrecision(12)), shownUnit: 'ratio' })
  })

  it('is nothing where the channel cannot have the unit asked for, or the reading has no number', () => {
    const shown = shownOf([
      { id: 'v', unit: 'mV' },
      { id: 'c', unit: 'degC' },
    ])
    expect(shown.of(reading(1, 'v', 0, String(AT_WTP)))).toMatchObject({
      ...{ shown: null, shownUnit: 'mV', resistanceOhm: 25.50005, voltageMv: null },
    })
    expect(shown.of(reading(2, 'c', 0, null))).toMatchObject({
      ...{ celsius: null, expandedMk: null, shown: null, shownUnit: 'degC', resistanceOhm: null },
    })
  })

  it('has U = 2 u of the chain in three digits: that of the calibration and no less', () => {
    const { expandedMk } = shownOf([{ id: 'c' }]).of(reading(1, 'c', 0, String(AT_WTP)))
    // The certificate has U = 1 mK at 0 degC; resistor, bridge and R(WTP) come on top.
    expect(expandedMk).toBeGreaterThan(1)
    expect(expandedMk).toBeLessThan(2)
    expect(expandedMk).toBe(Number(expandedMk!.toPrecision(3)))
  })

  it('follows the channel that a ratio is measured against by its last value', () => {
    const shown = shownOf([
      { id: 'ref', unit: 'ohm' },
      { id: 'y', unit: 'ohm', thermometer: 'prt', reference: { kind: 'channel', channel: 'ref' } },
    ])
    const y = () => shown.of(reading(2, 'y', 1, '4')).resistanceOhm
    expect(y()).toBeNull()
    shown.of(reading(1, 'ref', 0, String(AT_WTP)))
    expect(y()).toBeCloseTo(4 * 25.50005, 8)
    shown.of(reading(3, 'ref', 2, String(1.1 * AT_WTP)))
    expect(y()).toBeCloseTo(4.4 * 25.50005, 8)
  })

  it('is the number as it was read where the set-up cannot be computed with, in that unit alone', () => {
    const without = { ...REGISTER, thermometers: [] }
    const shown = shownOf(
      [
        { id: 'n', unit: 'ratio' },
        { id: 'c', unit: undefined },
      ],
      without,
    )
    expect(shown.of(reading(1, 'n', 0, '0.25'))).toMatchObject({
      ...{ shown: 0.25, shownUnit: 'ratio', channelName: 'Reference', thermometer: '', celsius: null },
    })
    expect(shown.of(reading(2, 'c', 0, '0.25'))).toMatchObject({ shown: null, shownUnit: '' })
    expect(shown.of(reading(3, 'gone', 0, '0.25'))).toMatchObject({ shown: 0.25, shownUnit: 'ratio' })
  })
})
