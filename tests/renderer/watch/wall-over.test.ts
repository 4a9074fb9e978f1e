import { type ComponentProps, createElement } from 'react'
import { renderToStaticMarkup } from 'react-dom/server'
import { expect, it } from 'vitest'
import type { AlarmView, ChannelView, RunnerView, SettlingView } from '../../../app/contract/views.ts'
import { Wall } from '../../../renderer/watch/Wall.tsx'

const settling = { state: 'over', held: 0, words: '' } as unknown as SettlingView
const channels = Array.from(
  { length: 30 },
  (_, i) => ({ id: `ch-${i}`, name: `Thermometer ${i}`, settling }) as unknown as ChannelView,
)
const over = {
  phase: 'ended',
  words: 'Ended: complete.',
  step: null,
  setpointC: null,
  expectedEndUtcUs: null,
}

function wall(more: Partial<ComponentProps<typeof Wall>>): string {
  return renderToStaticMarkup(
    createElement(Wall, {
      ...{
        shown: channels.slice(0, 2),
        columns: 2,
        figures: 9,
        group: settling,
        channels,
        troubled: channels,
      },
      ...{ runner: over as unknown as RunnerView, numbers: () => null, alarm: undefined, nowUtcUs: 0 },
      ...{ strip: null, lost: undefined, onLeave: () => undefined, ...more },
    }),
  )
}

it('is calm after a night that ended, says how it ended, and calls what is done neither silent nor unsettled', () => {
  const calm = wall({})
  expect(calm).toContain('Ended: complete.')
  expect(calm).toContain('30 channels, done.')
  expect(calm).toContain('water-over')
  expect(calm).not.toContain('is-alarm')
  expect(calm).not.toContain('Not settled')
})

it('has the colour of an alarm for an alarm, also after the night', () => {
  const alarm = { severity: 'alarm', words: 'The bath is 3 K above its setpoint.' } as AlarmView
  expect(wall({ alarm })).toContain('is-alarm')
  expect(wall({ alarm: { ...alarm, severity: 'warning' } })).not.toContain('is-alarm')
})
