import { useSyncExternalStore } from 'react'
import type { ChannelView } from '../../app/contract/views.ts'
import { useJoining, useStation } from '../client/state.ts'
import { board } from '../live/listen.ts'
import { isDifference, type Sight, unitOf } from '../live/quantity.ts'
import { useBackStep } from '../page/hooks.ts'
import { page } from '../page/page.ts'
import { openAlarms } from '../page/shell.model.ts'
import { decimalsShown } from '../signs/digits.ts'
import { unitSign } from '../text/numbers.ts'
import { LiveDigits } from './LiveDigits.tsx'
import { shownU } from './readout.model.ts'
import { StripNow } from './Strip.connect.tsx'
import { Wall } from './Wall.tsx'
import { columnsFor, onTheWall, unsettled } from './wall.model.ts'
import { chosenOf } from './watch.model.ts'
import { useWatch } from './watch.store.ts'

/** The numbers have the whole width and about this part of the height, turned round. */
const NUMBERS_PART = 1.5
const LEAST_FIGURES = 6

const onResize = (tell: () => void) => {
  window.addEventListener('resize', tell)
  return () => window.removeEventListener('resize', tell)
}

/** Figures up to the decimal sign, this included: three of a temperature or a resistance, one of a ratio. */
const wholeFigures = (unit: string) => (unit === 'ratio' ? 2.2 : 4)

function figuresOf(channel: ChannelView, sight: Sight, base: ChannelView | undefined): number {
  const unit = unitOf(sight.shown, channel, isDifference(sight, channel.id))
  return (
    wholeFigures(unit) + decimalsShown(shownU(channel, sight, base), unit, 0) + unitSign(unit).length * 0.7
  )
}

const leave = () => page.setState({ wall: false })

export function WallView() {
  const state = useStation((now) => now!)
  const joining = useJoining()
  const choice = useWatch()
  const { shown, base } = choice
  const baseChannel = state.channels.find(({ id }) => id === base)
  const aspect = useSyncExternalStore(onResize, () => window.innerWidth / window.innerHeight)
  useBackStep(true, leave)
  const shownChannels = onTheWall(chosenOf(state.channels, choice))
  const figures = Math.max(
    ...shownChannels.map((channel) => figuresOf(channel, { shown, base }, baseChannel)),
    LEAST_FIGURES,
  )
  return (
    <Wall
      group={state.group}
      runner={state.runner}
      channels={chosenOf(state.channels, choice)}
      shown={shownChannels}
      columns={columnsFor(shownChannels.length, figures, aspect * NUMBERS_PART)}
      figures={figures}
      troubled={unsettled(state.channels)}
      alarm={openAlarms(state.alarms)[0]}
      nowUtcUs={state.utcUs}
      strip={<StripNow />}
      lost={joining.state === 'joined' ? undefined : joining.words}
      onLeave={leave}
      numbers={(channel) => (
        <LiveDigits
          board={board}
          channel={channel.id}
          shown={shown}
          unit={unitOf(shown, channel, isDifference({ shown, base }, channel.id))}
          u={shownU(channel, { shown, base }, baseChannel)}
          setpointC={state.runner.setpointC}
          base={base}
          extra={0}
          showExpanded={false}
        />
      )}
    />
  )
}
