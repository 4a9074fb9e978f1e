import { useMemo } from 'react'
import { unpackColumns } from '../../app/contract/columns.ts'
import { quantityOfUnit, unitOfChannel } from '../../app/live/channel-unit.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { allOf } from '../client/pages.ts'
import { stripPicture } from '../signs/night.model.ts'
import { Replay } from './Replay.tsx'
import { nextAfter } from './replay.model.ts'
import { useReplay } from './use-replay.ts'

const EVENTS_SHOWN = 8
/** Channels asked for their next reading; with more the first ones stand for all. */
const MOST_ASKED = 12

/** When the next reading of any of some channels was taken; undefined after the last one. */
async function nextReading(session: string, channels: readonly string[], nowUtcUs: number) {
  const asked = channels.slice(0, MOST_ASKED).map(async (channel) => {
    const stretch = { session, channel, quantity: 'raw', fromUtcUs: nowUtcUs + 1, most: 1 } as const
    const blob = await station.history.readings(stretch)
    const { utcS } = unpackColumns(await blob.arrayBuffer()).columns
    return [...(utcS as Float64Array)].map((s) => Math.round(s * 1e6))
  })
  return nextAfter((await Promise.all(asked)).flat(), nowUtcUs)
}

export function ReplayNow({ session, at }: { session: string; at?: number | undefined }) {
  const replay = useReplay(session, at)
  const { state, coefficients } = replay
  const events = useAnswer(() => allOf((page) => station.history.events({ session, ...page })), [session])
  const points = useAnswer(() => station.points.list({ session, coefficients }), [session, coefficients])
  const opened = useAnswer(() => station.archive.open({ session }), [session])
  const now = state?.utcUs ?? 0
  const head = opened.data?.setup.bench.channels.find(({ role }) => role === 'reference')
  const reference = head?.id
  const own = head && unitOfChannel(head)
  const picture = useMemo(
    () =>
      state &&
      stripPicture(state.strip, state.runner.startedUtcUs, state.runner.expectedEndUtcUs, state.utcUs),
    [state],
  )
  const taken = (points.data ?? [])
    .map((point, i) => ({
      n: i + 1,
      point,
      reference: point.channels.find(({ channel }) => channel === reference),
    }))
    .filter(({ point }) => point.endUtcUs <= now)
  // The air of the room is written down every few minutes: it would push out what happened to the night.
  const told = (events.data ?? []).filter(({ kind }) => kind !== 'environment')
  const heard = told.filter(({ utcUs }) => utcUs <= now)
  const step = (to: number | undefined) => (to === undefined ? undefined : () => replay.go(to))
  const toReading = async () => {
    const to = await nextReading(session, state?.channels.map(({ id }) => id) ?? [], now)
    if (to !== undefined) replay.go(to)
  }
  return (
    <Replay
      {...replay}
      picture={picture}
      points={taken}
      referenceUnit={own !== undefined && quantityOfUnit(own) === 'temperature' ? own : 'degC'}
      events={heard.slice(-EVENTS_SHOWN).reverse()}
      onSpeed={replay.setSpeed}
      onCoefficients={replay.setCoefficients}
      onStart={replay.start}
      onStop={replay.stop}
      onGo={replay.go}
      onBeginning={() => replay.go(undefined)}
      onReading={state && !replay.ended ? () => void toReading() : undefined}
      onEvent={step(
        nextAfter(
          told.map(({ utcUs }) => utcUs),
          now,
        ),
      )}
      onPoint={step(nextAfter(points.data?.map(({ endUtcUs }) => endUtcUs) ?? [], now))}
    />
  )
}
