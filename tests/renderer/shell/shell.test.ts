import { describe, expect, it } from 'vitest'
import { lineView, openAlarms } from '../../../renderer/page/shell.model.ts'
import { FakeStation } from '../../browser/fake/station.ts'

const stateOf = (scene: 'empty' | 'running' | 'fault') =>
  new FakeStation({ channels: 4, rateHz: 1, scene, speed: 1 }).state()

describe('lineView', () => {
  it('names bench, session, plan, links and disk', () => {
    expect(lineView(stateOf('running'), '').facts.map((f) => f.name)).toEqual([
      'Bench',
      'Session',
      'Plan',
      'Links',
      'Disk',
    ])
    expect(lineView(stateOf('empty'), '').facts[0]!.words).toBe('none yet')
    expect(lineView(undefined, 'Joining').facts).toEqual([])
  })

  it('says which instrument does not answer', () => {
    const links = lineView(stateOf('fault'), '').facts.find((f) => f.name === 'Links')
    expect(links).toMatchObject({ words: 'Scanner: no answer', wrong: true })
  })
})

describe('openAlarms', () => {
  it('puts the gravest first and leaves out what was seen or is over', () => {
    const [alarm] = stateOf('fault').alarms
    const other = { ...alarm!, id: 'w', severity: 'warning' as const, utcUs: alarm!.utcUs + 5 }
    expect(openAlarms([other, alarm!]).map((a) => a.id)).toEqual(['alarm-1', 'w'])
    expect(
      openAlarms([
        { ...alarm!, acknowledgedBy: 'x' },
        { ...other, active: false },
      ]),
    ).toEqual([])
  })
})
