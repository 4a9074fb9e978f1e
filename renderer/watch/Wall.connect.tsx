import { useJoining, useStation } from '../client/state.ts'
import { board } from '../live/listen.ts'
import { isDifference, unitOf } from '../live/quantity.ts'
import { useBackStep } from '../shell/hooks.ts'
import { page } from '../shell/page.ts'
import { StripNow } from '../shell/Strip.connect.tsx'
import { openAlarms } from '../shell/shell.model.ts'
import { LiveDigits } from './LiveDigits.tsx'
import { shownU } from './readout.model.ts'
import { Wall } from './Wall.tsx'
import { unsettled } from './watch.model.ts'
import { useWatch } from './watch.store.ts'

const leave = () => page.setState({ wall: false })

export function WallView() {
  const state = useStation((now) => now!)
  const joining = useJoining()
  const { shown, base } = useWatch()
  const baseChannel = state.channels.find(({ id }) => id === base)
  useBackStep(true, leave)
  return (
    <Wall
      group={state.group}
      runner={state.runner}
      channels={state.channels}
      troubled={unsettled(state.channels)}
      alarm={openAlarms(state.alarms)[0]?.words}
      nowUtcUs={state.utcUs}
      strip={<StripNow />}
      lost={joining.state === 'joined' ? undefined : joining.words}
      onLeave={leave}
      numbers={(channel) => (
        <LiveDigits
          board={board}
          channel={channel.id}
          shown={shown}
          unit={unitOf(shown, channel.rawUnit, isDifference({ shown, base }, channel.id))}
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
