import { useCallback, useMemo } from 'react'
import { threadKey } from '../../app/contract/thread-keys.ts'
import { EmptyBench } from '../bench/EmptyBench.connect.tsx'
import { useStation } from '../client/state.ts'
import { board } from '../live/listen.ts'
import { unitOf } from '../live/quantity.ts'
import { pullThread, usePage } from '../shell/page.ts'
import { decimalsShown } from '../signs/digits.ts'
import { GroupHead } from './GroupHead.tsx'
import { Panes } from './Panes.connect.tsx'
import { Readout, uOf } from './Readout.tsx'
import { StretchNow } from './Stretch.connect.tsx'
import { WatchPanel } from './Watch.tsx'
import { useWatchCommands, WatchToolsNow } from './WatchTools.connect.tsx'
import { crowd } from './watch.model.ts'
import { act, useWatch } from './watch.store.ts'

export { WallView } from './Wall.connect.tsx'

export function Watch() {
  const channels = useStation((state) => state?.channels) ?? []
  const hasBench = useStation((state) => state?.bench !== null)
  const session = useStation((state) => state?.session?.id)
  const groupWords = useStation((state) => state?.group.words) ?? ''
  const setpointC = useStation((state) => state?.runner.setpointC ?? null)
  const expanded = usePage((state) => state.expanded)
  const theme = usePage((state) => state.theme)
  const choice = useWatch()
  const { shown, base, hidden } = choice
  useWatchCommands()
  const extra = channels.length > 16 ? 0 : 1
  const decimals = channels.reduce(
    (most, c) => Math.max(most, decimalsShown(uOf(c, shown), unitOf(shown, c.rawUnit), extra)),
    0,
  )
  const toggle = useCallback((channel: string) => act({ do: 'toggle', channel }), [])
  const pull = useCallback(
    (channel: string) => {
      const quantity = shown === 'raw' ? 'ratio' : shown === 'resistance' ? 'resistance' : 'temperature'
      if (session) pullThread(session, threadKey.live(channel, quantity))
    },
    [shown, session],
  )
  const readouts = useMemo(
    () =>
      channels.map((channel, look) => (
        <Readout
          key={channel.id}
          channel={channel}
          look={look}
          shown={shown}
          base={base}
          hidden={hidden.includes(channel.id)}
          setpointC={setpointC}
          board={board}
          dark={theme === 'dark'}
          extra={extra}
          decimals={decimals}
          showExpanded={expanded}
          still={channels.length > 12}
          groupWords={groupWords}
          onToggle={toggle}
          onPull={pull}
        />
      )),
    [channels, groupWords, shown, base, hidden, setpointC, expanded, theme, extra, decimals, toggle, pull],
  )
  if (!hasBench || channels.length === 0) return <EmptyBench />
  return (
    <WatchPanel
      head={<GroupNow />}
      tools={<WatchToolsNow />}
      crowd={crowd(channels.length)}
      readouts={readouts}
      panes={<Panes />}
      below={<StretchNow />}
    />
  )
}

function GroupNow() {
  const group = useStation((state) => state!.group)
  const runner = useStation((state) => state!.runner)
  const minute = useStation((state) => Math.floor(state!.utcUs / 60e6) * 60e6)
  const running = !['idle', 'ended'].includes(runner.phase)
  return <GroupHead group={group} runner={runner} nowUtcUs={minute} running={running} />
}
