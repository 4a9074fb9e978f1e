import { useCallback, useMemo, useRef } from 'react'
import { threadKey } from '../../app/contract/thread-keys.ts'
import { reuse } from '../client/reuse.ts'
import { useJoining, useStation } from '../client/state.ts'
import { EmptyBench } from '../desk/EmptyBench.connect.tsx'
import { askRecord } from '../desk/record.store.ts'
import { board } from '../live/listen.ts'
import { lookOf } from '../live/quantity.ts'
import { goTo, pullThread, usePage } from '../page/page.ts'
import { Button } from '../parts/Button.tsx'
import { decimalsShown } from '../signs/digits.ts'
import { GroupHead } from './GroupHead.tsx'
import { NothingYet } from './NothingYet.connect.tsx'
import { Panes } from './Panes.connect.tsx'
import { Readout } from './Readout.tsx'
import { type ReadoutView, readoutView } from './readout.model.ts'
import { SayWhy } from './SayWhy.connect.tsx'
import { StretchNow } from './Stretch.connect.tsx'
import { WatchPanel } from './Watch.tsx'
import { useWatchCommands, WatchToolsNow } from './WatchTools.connect.tsx'
import { chosenOf, crowd } from './watch.model.ts'
import { act, useWatch } from './watch.store.ts'

interface AfterProps {
  ended: boolean
  planned: boolean
  stopped: boolean
  /** Order whose job sheet shows this: what follows is further down the sheet. */
  order: string | undefined
}

/** Where a session that has ended leads: its points and certificates, or the next one. */
function After({ ended, planned, stopped, order }: AfterProps) {
  return (
    <div className="row">
      {stopped && <SayWhy />}
      {ended && planned && (
        <>
          <Button
            look="main"
            onPress={() => (order ? goTo('orders', [order, 'points']) : goTo('points', []))}
          >
            See the points
          </Button>
          <Button
            onPress={() =>
              order ? goTo('orders', [order, 'certificate']) : goTo('points', ['newest', 'report'])
            }
          >
            See the certificates
          </Button>
        </>
      )}
      <Button onPress={() => goTo('plan')}>{ended ? 'Plan the next night' : 'Plan a night'}</Button>
      <Button onPress={() => askRecord()}>Record without a plan</Button>
    </div>
  )
}

export { WallView } from './Wall.connect.tsx'

// The same elements every time: what the station says four times a second draws none of them anew.
const TOOLS = <WatchToolsNow />
const PANES = <Panes />
const BELOW = <StretchNow />

/** `order`: whose job sheet Watch is a part of. */
export function Watch({ order: ofOrder }: { order?: string }) {
  const head = useMemo(() => <GroupNow order={ofOrder} />, [ofOrder])
  const all = useStation((state) => state?.channels) ?? []
  const hasBench = useStation((state) => state?.bench !== null)
  const session = useStation((state) => state?.session?.id)
  const groupWords = useStation((state) => state?.group.words) ?? ''
  const setpointC = useStation((state) => state?.runner.setpointC ?? null)
  const expanded = usePage((state) => state.expanded)
  const theme = usePage((state) => state.theme)
  const choice = useWatch()
  const joining = useJoining()
  const { shown, base, hidden } = choice
  const channels = chosenOf(all, choice)
  useWatchCommands()
  const extra = channels.length > 16 ? 0 : 1
  const baseChannel = all.find(({ id }) => id === base)
  const last = useRef<readonly ReadoutView[]>([])
  last.current = reuse(
    last.current,
    channels.map((channel) => readoutView(channel, { shown, base }, baseChannel, groupWords)),
  )
  const views = last.current
  const toggle = useCallback((channel: string) => act({ do: 'toggle', channel }), [])
  const pull = useCallback(
    (channel: string) => {
      const look = lookOf(shown, board.units.get(channel)).quantity
      const quantity = look === 'raw' ? 'ratio' : look === 'resistance' ? 'resistance' : 'temperature'
      if (session) pullThread(session, threadKey.live(channel, quantity))
    },
    [shown, session],
  )
  const order = all.map(({ id }) => id).join('\n')
  const looks = useMemo(() => new Map(order.split('\n').map((id, look) => [id, look])), [order])
  const readouts = useMemo(() => {
    // Decimal signs stand in line among numbers of one unit; a base in degrees beside millikelvins has its own place.
    const decimals = new Map<string, number>()
    for (const { u, unit } of views)
      decimals.set(unit, Math.max(decimals.get(unit) ?? 0, decimalsShown(u, unit, extra)))
    return views.map((channel) => (
      <Readout
        key={channel.id}
        channel={channel}
        look={looks.get(channel.id) ?? 0}
        shown={shown}
        base={base}
        hidden={hidden.includes(channel.id)}
        setpointC={setpointC}
        board={board}
        dark={theme === 'dark'}
        extra={extra}
        decimals={decimals.get(channel.unit) ?? 0}
        showExpanded={expanded}
        still={views.length > 12}
        onToggle={toggle}
        onPull={pull}
      />
    ))
  }, [views, shown, base, hidden, setpointC, expanded, theme, extra, looks, toggle, pull])
  if (!hasBench) return <EmptyBench />
  if (channels.length === 0) return <NothingYet />
  return (
    <WatchPanel
      head={head}
      tools={TOOLS}
      crowd={crowd(channels.length)}
      old={joining.state !== 'joined'}
      readouts={readouts}
      panes={PANES}
      below={BELOW}
    />
  )
}

function GroupNow({ order }: { order: string | undefined }) {
  const group = useStation((state) => state!.group)
  const runner = useStation((state) => state!.runner)
  const minute = useStation((state) => Math.floor(state!.utcUs / 60e6) * 60e6)
  const running = !['idle', 'ended'].includes(runner.phase)
  const { state, words } = useJoining()
  const lost = state === 'joined' ? undefined : words
  return (
    <GroupHead
      group={group}
      runner={runner}
      nowUtcUs={minute}
      running={running}
      lost={lost}
      after={
        <After
          ended={runner.phase === 'ended'}
          planned={runner.steps > 0}
          stopped={runner.ending === 'stopped-by-person'}
          order={order}
        />
      }
    />
  )
}
