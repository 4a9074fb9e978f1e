import { describe, expect, it } from 'vitest'
import { StationState } from '../../app/contract/views.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { openBox, planOf } from './box.ts'

describe('Station', () => {
  it('is refused in words on a data folder that another station has', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      expect(() => openStationStore(box.folder, { clock: box.clock })).toThrow(/in use by another station/)
    } finally {
      await box.close()
    }
  })

  it('tells a whole state before anything is connected', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      const state = StationState.parse(box.station.state())
      expect(state.runner.phase).toBe('idle')
      expect(state.links.map((l) => l.state)).toEqual(['closed', 'closed'])
      expect(await box.station.open()).toBeUndefined()
    } finally {
      await box.close()
    }
  })

  it('identifies every instrument of its bench', async () => {
    const box = await openBox()
    try {
      await box.station.connect()
      await box.clock.sleep(20_000)
      const links = box.station.state().links
      expect(links.map((l) => [l.instrument, l.state])).toEqual([
        ['bridge', 'ready'],
        ['scanner', 'ready'],
        ['bath', 'ready'],
        ['air', 'ready'],
      ])
      expect(links[0]!.identity).toMatch(/^QUENNICK,RB-8,0817/)
    } finally {
      await box.close()
    }
  })

  it('refuses a plan that leads out of the limits of bath and fluid, with the reason', async () => {
    const box = await openBox()
    try {
      const start = box.station.startPlan({ plan: planOf([25, 150]), operator: 'Test' })
      await expect(start).rejects.toThrow(
        'Setpoint 2, 150 °C, is above 140 °C, the limit set by the bath oil.',
      )
      expect(box.station.state().session).toBeNull()
    } finally {
      await box.close()
    }
  })

  it('wants warnings to be taken on by name before it starts', async () => {
    const box = await openBox()
    try {
      const plan = planOf([25, 120])
      await expect(box.station.startPlan({ plan, operator: 'Test' })).rejects.toThrow(
        'Accept these warnings first',
      )
      await box.station.startPlan({ plan, operator: 'Test', accept: ['own-range-thermistor'] })
      await expect(box.station.record({ operator: 'Test' })).rejects.toThrow('A session is running')
    } finally {
      await box.close()
    }
  })

  it('tells the same whole state at every change of a running plan', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      let changes = 0
      box.station.onDidChange.on(() => {
        changes += 1
        if (changes % 200 === 0) StationState.parse(box.station.state())
      })
      await box.station.startPlan({ plan: planOf([25]), operator: 'Test' })
      const finished = await box.station.finished
      expect(finished.ending).toBe('complete')
      const state = StationState.parse(box.station.state())
      expect(state.runner).toMatchObject({ phase: 'ended', ending: 'complete', question: null })
      expect(changes).toBeGreaterThan(200)
    } finally {
      await box.close()
    }
  })
})
