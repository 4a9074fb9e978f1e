import { describe, expect, it } from 'vitest'
import { fitColumns } from '../../../renderer/points/fit-columns.tsx'
import { CELLS } from '../../../renderer/points/points.model.ts'
import { FakeStation } from '../../browser/fake/station.ts'
import { fitsOf } from '../../browser/fake/studies.ts'

const station = new FakeStation({ channels: 3, rateHz: 1, scene: 'ready', speed: 1 })
station.begin(station.plans[0]!, 'x', '', 10 * 3600)

describe('two figures of one thermometer at one point', () => {
  const points = station.points()
  const fit = fitsOf(station)[0]!
  const used = (id: string) =>
    points.find((p) => p.id === id)?.channels.find((c) => c.channel === fit.channel)
  const columns = fitColumns({
    fit,
    used,
    onPull: () => undefined,
    onLeaveOut: () => undefined,
    open: null,
    onOpen: () => undefined,
  } as unknown as Parameters<typeof fitColumns>[0])

  it('are not both called Signal: the one as measured says that it is a mean of readings, the one of the fit that it is at zero current', () => {
    const asMeasured = CELLS.find(({ id }) => id === 'signal')!
    const ofFit = columns.find(({ id }) => id === 'signal')!
    expect(asMeasured.name).toBe('Signal')
    expect(asMeasured.about).toMatch(/mean of its readings/)
    expect(ofFit.name).toBe('Signal at zero current')
    expect(ofFit.about).toMatch(/less what self-heating adds/)
    const named = [...columns.map(({ name }) => name), asMeasured.name]
    expect(new Set(named).size).toBe(named.length)
  })
})
