import type { ChannelView } from '../../app/contract/views.ts'
import { perKelvin } from '../../app/live/channel-unit.ts'
import { describeSamples } from '../../app/statistics/window.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { inUnit, isDifference, lookOf, unitOf } from '../live/quantity.ts'
import type { TimeWindow } from '../plots/hooks.ts'
import { copy } from '../text/save.ts'
import { inTurn } from './in-turn.ts'
import { type Readings, shownReadings } from './record.ts'
import { Stretch, type StretchRow } from './Stretch.tsx'
import type { WatchChoice } from './watch.model.ts'
import { act, useWatch } from './watch.store.ts'

/** Differences are worked out here, reading by reading; a longer stretch would make the page stand still. */
const MOST_DIFFERENCES = 20_000

export function StretchNow() {
  const choice = useWatch()
  const { selected, hidden, shown, base } = choice
  const session = useStation((state) => state?.session?.id)
  const channels = useStation((state) => state?.channels) ?? []
  const baseName = channels.find(({ id }) => id === base)?.name
  const { data, problem, asking } = useAnswer(
    selected && session
      ? async (signal) => {
          const asked = channels.filter(({ id }) => !hidden.includes(id) && id !== base)
          const rows = new Map<string, StretchRow>()
          const difference =
            base === null ? undefined : await differencesIn(session, choice, selected, signal)
          await inTurn(asked, signal, async (channel) => {
            const { id, name } = channel
            const row = difference
              ? { ...(await difference(id)), unit: unitOf(shown, channel, isDifference(choice, id)) }
              : await statisticsOf(session, choice, selected, channel, signal)
            rows.set(id, { channel: id, name, ...row })
          })
          return asked.flatMap(({ id }) => rows.get(id) ?? [])
        }
      : undefined,
    [selected?.from, selected?.to, session, shown, base, hidden],
  )
  if (!selected) return null
  return (
    <Stretch
      from={selected.from}
      to={selected.to}
      less={baseName}
      rows={asking ? undefined : data}
      problem={problem}
      onClose={() => act({ do: 'select', window: null })}
      onCopy={() =>
        copy(
          [
            'channel\tmean\tsd\tstandard deviation of the mean\tdrift per min\tspan\tn\tunit',
            ...(data ?? []).map((r) =>
              [r.name, r.mean, r.sd, r.standardError, r.driftPerMin, r.span, r.n, r.unit].join('\t'),
            ),
          ].join('\n'),
          'The table',
        )
      }
    />
  )
}

type Statistics = Omit<StretchRow, 'channel' | 'name'>

async function statisticsOf(
  session: string,
  { shown }: WatchChoice,
  { from, to }: TimeWindow,
  channel: ChannelView,
  signal: AbortSignal,
): Promise<Statistics> {
  const look = lookOf(shown, channel.unit)
  const {
    allan: _allan,
    driftUncertaintyPerMin: _u,
    ...row
  } = await station.history.statistics(
    {
      session,
      channel: channel.id,
      quantity: look.quantity,
      fromUtcUs: Math.round(from * 1e6),
      toUtcUs: Math.round(to * 1e6),
    },
    { signal },
  )
  if (look.quantity !== 'temperature' || look.unit === undefined) return row
  const scale = perKelvin(look.unit)
  const scaled = (value: number | null) => (value === null ? null : value * scale)
  return {
    ...row,
    mean: row.mean === null ? null : inUnit(row.mean, look),
    sd: scaled(row.sd),
    standardError: scaled(row.standardError),
    driftPerMin: scaled(row.driftPerMin),
    span: scaled(row.span),
    unit: look.unit,
  }
}

async function differencesIn(
  session: string,
  choice: WatchChoice,
  window: TimeWindow,
  signal: AbortSignal,
): Promise<(channel: string) => Promise<Omit<Statistics, 'unit'>>> {
  const ask = await shownReadings(session, choice, window, { most: MOST_DIFFERENCES, forMeans: true, signal })
  return async (channel) => describe(await ask(channel))
}

function describe({ t, v, leftOut }: Readings): Omit<Statistics, 'unit'> {
  if (t.length + leftOut >= MOST_DIFFERENCES)
    throw new Error(
      `Differences are worked out over at most ${MOST_DIFFERENCES} readings a channel. Select a shorter stretch.`,
    )
  const none = { mean: null, sd: null, standardError: null, nEffective: null, driftPerMin: null, span: null }
  if (t.length === 0) return { n: 0, leftOut, ...none }
  const known = (x: number) => (Number.isFinite(x) ? x : null)
  const { n, mean, sd, standardError, nEffective, drift, span } = describeSamples(t, v)
  return {
    n,
    leftOut,
    mean: known(mean),
    sd: known(sd),
    standardError: known(standardError),
    nEffective: known(nEffective),
    driftPerMin: known(drift * 60),
    span: known(span),
  }
}
