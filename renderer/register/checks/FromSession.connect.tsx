import { useEffect, useState } from 'react'
import { unpackColumns } from '../../../app/contract/columns.ts'
import { useAct } from '../../client/act.ts'
import { useAnswer } from '../../client/ask.ts'
import { station } from '../../client/connect.ts'
import { FromSession } from './FromSession.tsx'
import { type SessionChoice, useSetup } from './sessions.connect.tsx'

/** A ratio as a stretch of a channel shows it. */
export interface TakenRatio {
  session: string
  channel: string
  name: string
  mean: number
  /** Standard uncertainty of the mean, type A. */
  u: number
  n: number
  /** Register id of the bridge, where its bench names one. */
  instrument: string | undefined
}

interface Props {
  sessions: readonly SessionChoice[]
  /** What the channels are taken as: one label for each. */
  wanted: readonly string[]
  /** Channels to begin with, by their names. */
  guess?: readonly RegExp[]
  onTake: (taken: readonly TakenRatio[]) => void | Promise<void>
  /** Every channel whose name says a combination, at once. */
  onTakeAll?: ((taken: readonly TakenRatio[]) => void) | undefined
}

const BUCKETS = 400
/** A session whose name speaks of these is the one that is meant, more often than not. */
const OF_RATIOS = /bridge|resistor|ratio/i

async function ratioOf(
  session: string,
  channel: { id: string; name: string; instrument: string },
  instruments: readonly { id: string; register?: string | undefined }[],
  stretch: { from: number; to: number } | undefined,
): Promise<TakenRatio> {
  const found = await station.history.statistics({
    session,
    channel: channel.id,
    quantity: 'raw',
    ...(stretch && { fromUtcUs: Math.round(stretch.from * 1e6), toUtcUs: Math.round(stretch.to * 1e6) }),
  })
  if (found.unit !== 'ratio') throw new Error(`${channel.name} was not measured as a ratio.`)
  if (found.mean === null || found.standardError === null || found.n < 2)
    throw new Error(`${channel.name} has too few readings in this stretch.`)
  return {
    session,
    channel: channel.id,
    name: channel.name,
    mean: found.mean,
    u: found.standardError,
    n: found.n,
    instrument: instruments.find(({ id }) => id === channel.instrument)?.register,
  }
}

/** Takes ratios from a recorded session: the mean of a stretch with the uncertainty its readings give it. */
export function FromSessionNow({ sessions, wanted, guess = [], onTake, onTakeAll }: Props) {
  const [picked, setPicked] = useState<string>()
  const session = picked ?? (sessions.find(({ name }) => OF_RATIOS.test(name)) ?? sessions[0])?.id ?? ''
  const [chosen, setChosen] = useState<readonly string[]>([])
  const [stretch, setStretch] = useState<{ from: number; to: number }>()
  const { problem, working, attempt } = useAct()
  const setup = useSetup(session)
  const bench = setup.data?.info.id === session ? setup.data.setup.bench : undefined
  const channels = bench?.channels ?? []
  const instruments = bench?.instruments ?? []
  const own = wanted.map(
    (_, i) =>
      channels.find(({ id }) => id === chosen[i]) ??
      channels.find(({ name }) => guess[i]?.test(name)) ??
      channels[i] ??
      channels[0],
  )
  const first = own[0]
  // The stretch belongs to a record; another record is taken whole first.
  // biome-ignore lint/correctness/useExhaustiveDependencies: the session is what makes it another record
  useEffect(() => setStretch(undefined), [session])
  const record = useAnswer(
    first
      ? async () => {
          const blob = await station.history.overview({
            session,
            channel: first.id,
            quantity: 'raw',
            buckets: BUCKETS,
          })
          return { of: `${session}/${first.id}`, columns: unpackColumns(await blob.arrayBuffer()).columns }
        }
      : undefined,
    [session, first?.id],
  )
  // A plot of another record would let a stretch be marked that is none of this one's.
  const columns = record.data?.of === `${session}/${first?.id}` ? record.data.columns : undefined
  const x = [...((columns?.t as Float64Array | undefined) ?? [])]
  const y = [...((columns?.mean as Float64Array | undefined) ?? [])]
  return (
    <FromSession
      sessions={sessions}
      session={session}
      channels={channels.map(({ id, name }) => ({ id, name }))}
      wanted={wanted.map((label, i) => ({ label, channel: own[i]?.id ?? '' }))}
      x={x}
      y={y}
      stretch={stretch}
      working={working !== undefined}
      problem={problem ?? setup.problem ?? record.problem}
      onSession={setPicked}
      onChannel={(i, id) => setChosen(wanted.map((_, j) => (j === i ? id : (own[j]?.id ?? ''))))}
      onStretch={(from, to) => setStretch({ from, to })}
      onTake={() =>
        void attempt(
          async () =>
            await onTake(
              await Promise.all(own.map((channel) => ratioOf(session, channel!, instruments, stretch))),
            ),
        )
      }
      onTakeAll={
        onTakeAll &&
        (() =>
          void attempt(async () => {
            const all = channels.map((channel) =>
              ratioOf(session, channel, instruments, stretch).catch(() => undefined),
            )
            onTakeAll((await Promise.all(all)).filter((taken) => taken !== undefined))
          }))
      }
    />
  )
}
