import { useMemo } from 'react'
import { stationState, useStation } from '../client/state.ts'
import { frames } from '../live/frame.ts'
import { board } from '../live/listen.ts'
import { ringQuantity, SHOWN_WORDS } from '../live/quantity.ts'
import type { PaneHooks } from '../plots/hooks.ts'
import { LivePlot } from '../plots/LivePlot.tsx'
import { usePage } from '../shell/page.ts'
import { honest } from '../signs/digits.ts'
import { unitSign } from '../text/numbers.ts'
import { copy } from '../text/save.ts'
import { clockTime, duration } from '../text/times.ts'
import { CursorLine } from './CursorLine.tsx'
import { Pane } from './Pane.tsx'
import { usePast } from './past.ts'
import { dataOf, takePicture } from './take.ts'
import { panesOf, setpointAt, windowOf } from './watch.model.ts'
import { act, useWatch, watchStore } from './watch.store.ts'

let pointed: number | null = null
/** Time under the pointer in any plot. */
export const pointedTime = (): number | null => pointed

const hooks: PaneHooks = {
  setpointAt: (time) => setpointAt(stationState.getState().now?.strip ?? [], time),
  onZoom: (window) => act({ do: 'hold', window, newest: board.newestTime }),
  onSelect: (window) => act({ do: 'select', window }),
  onCursor: (time) => {
    pointed = time
    frames.wake()
  },
}
const viewNow = () => windowOf(watchStore.getState(), board.newestTime)

export function Panes() {
  const session = useStation((state) => state!.session?.id)
  const theme = usePage((state) => state.theme)
  const choice = useWatch()
  // Panes depend on who is there and on the choice, not on the numbers of the moment.
  const who = useStation((state) =>
    state!.channels.map((c) => `${c.id} ${c.name} ${c.role} ${c.rawUnit}`).join('\n'),
  )
  const { shown, base, hidden, arrange, axis } = choice
  // biome-ignore lint/correctness/useExhaustiveDependencies: as said above
  const panes = useMemo(
    () => panesOf(stationState.getState().now?.channels ?? [], choice),
    [who, shown, base, hidden, arrange, axis],
  )
  const lines = useMemo(() => panes.flatMap((pane) => pane.spec.lines), [panes])
  const past = usePast(
    session,
    lines.map(({ channel }) => channel),
    choice,
  )
  const values = useMemo(
    () => (time: number) =>
      lines
        .slice(0, 6)
        .map(({ channel, name }) => {
          const value = board.rings.get(channel)?.valueAt(ringQuantity(shown), time) ?? Number.NaN
          const text = honest(
            shown === 'deviation' ? (value - hooks.setpointAt(time)) * 1000 : value,
            null,
            panes[0]?.spec.unit ?? '',
          )
          return `${name} ${text.strong}`
        })
        .join('   '),
    [lines, shown, panes],
  )
  const where = choice.follow
    ? `the last ${duration(choice.spanS)}`
    : `${clockTime((choice.held?.from ?? 0) * 1e6, true)} to ${clockTime((choice.held?.to ?? 0) * 1e6, true)}`
  const [a, b] = choice.cursors
  const between =
    a !== undefined && b !== undefined
      ? `Between the cursors: ${duration(Math.abs(b - a))}; ${differences(lines.slice(0, 4), a, b, shown)}`
      : undefined
  if (panes.length === 0)
    return (
      <p className="faint">
        No channel is in the plot. Press the line beside a channel's name to bring it in.
      </p>
    )
  return (
    <>
      {panes.map((pane) => (
        <Pane
          key={pane.id}
          id={pane.id}
          title={pane.title || SHOWN_WORDS[shown]}
          unit={unitSign(pane.spec.unit)}
          where={where}
          onPicture={takePicture}
          onData={() => copy(dataOf(pane.spec, viewNow()), 'The readings in view')}
        >
          <LivePlot
            board={board}
            spec={pane.spec}
            hooks={hooks}
            window={viewNow}
            past={past}
            selected={choice.selected}
            cursors={choice.cursors}
            theme={theme}
            label={`${SHOWN_WORDS[shown]} of ${pane.spec.lines.length} channels over ${where}`}
          />
        </Pane>
      ))}
      <CursorLine time={pointedTime} values={values} between={between} />
    </>
  )
}

function differences(
  lines: readonly { channel: string; name: string }[],
  a: number,
  b: number,
  shown: Parameters<typeof ringQuantity>[0],
): string {
  const quantity = ringQuantity(shown)
  return lines
    .map(({ channel, name }) => {
      const ring = board.rings.get(channel)
      const change = ring ? ring.valueAt(quantity, b) - ring.valueAt(quantity, a) : Number.NaN
      return `${name} ${honest(quantity === 'temperature' ? change * 1000 : change, null, quantity === 'temperature' ? 'mK' : 'ratio').strong}${quantity === 'temperature' ? ' mK' : ''}`
    })
    .join('   ')
}
