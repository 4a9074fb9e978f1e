import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { copy } from '../text/save.ts'
import { Stretch, type StretchRow } from './Stretch.tsx'
import { act, useWatch } from './watch.store.ts'

const MOST_CHANNELS = 24

export function StretchNow() {
  const { selected, hidden, shown } = useWatch()
  const session = useStation((state) => state?.session?.id)
  const channels = useStation((state) => state?.channels) ?? []
  const asked = channels.filter(({ id }) => !hidden.includes(id)).slice(0, MOST_CHANNELS)
  const { data, problem } = useAnswer(
    selected && session
      ? () =>
          Promise.all(
            asked.map(async ({ id, name }): Promise<StretchRow> => {
              const {
                allan: _allan,
                driftUncertaintyPerMin: _u,
                ...row
              } = await station.history.statistics({
                session,
                channel: id,
                quantity: shown,
                fromUtcUs: Math.round(selected.from * 1e6),
                toUtcUs: Math.round(selected.to * 1e6),
              })
              return { channel: id, name, ...row }
            }),
          )
      : undefined,
    [selected?.from, selected?.to, session, shown, hidden],
  )
  if (!selected) return null
  return (
    <Stretch
      from={selected.from}
      to={selected.to}
      rows={data}
      problem={problem}
      onClose={() => act({ do: 'select', window: null })}
      onCopy={() =>
        copy(
          [
            'channel\tmean\tsd\tstandard error\tdrift per min\tspan\tn\tunit',
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
