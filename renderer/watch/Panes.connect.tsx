import { useMemo } from 'react'
import { counted } from '../../app/base/plural.ts'
import { duration } from '../../app/base/times.ts'
import { stationState, useStation } from '../client/state.ts'
import { frames } from '../live/frame.ts'
import { board } from '../live/listen.ts'
import { usePage } from '../page/page.ts'
import type { PaneHooks } from '../plots/hooks.ts'
import { LivePlot } from '../plots/LivePlot.tsx'
import { MOST_OWN_AXES } from '../plots/pane.ts'
import { honest } from '../signs/digits.ts'
import { unitSign } from '../text/numbers.ts'
import { clockTime } from '../text/times.ts'
import { CursorLine } from './CursorLine.tsx'
import { Pane } from './Pane.tsx'
import { numberAt, usePast } from './past.ts'
import { copyReadings, takePicture } from './take.ts'
import { panesOf, setpointAt, windowOf } from './watch.model.ts'
import { act, useWatch, watchStore } from './watch.store.ts'

/** Lines that are named in words under the plots; more would not fit. */
const MOST_NAMED = 6

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
    state!.channels
      .map((c) => `${c.id} ${c.name} ${c.role} ${c.rawUnit} ${c.unit} ${c.resistance.unit}`)
      .join('\n'),
  )
  const { shown, base, hidden, one, arrange, axis } = choice
  // biome-ignore lint/correctness/useExhaustiveDependencies: as said above
  const panes = useMemo(
    () => panesOf(stationState.getState().now?.channels ?? [], choice),
    [who, shown, base, hidden, one, arrange, axis],
  )
  const lines = useMemo(() => panes.flatMap((pane) => pane.spec.lines), [panes])
  const past = usePast(
    session,
    lines.map(({ channel }) => channel),
    choice,
  )
  const at = (channel: string, time: number) => numberAt(past, channel, choice, time, hooks.setpointAt)
  const unitAt = (channel: string) =>
    panes.find(({ spec }) => spec.lines.some((line) => line.channel === channel))?.spec.unit ?? ''
  // biome-ignore lint/correctness/useExhaustiveDependencies: what a number at a moment depends on
  const values = useMemo(
    () => (time: number) =>
      lines
        .slice(0, MOST_NAMED)
        .map(({ channel, name }) => `${name} ${honest(at(channel, time), null, unitAt(channel)).strong}`)
        .join('   '),
    [lines, panes, shown, base, past],
  )
  const where = choice.follow
    ? `the last ${duration(choice.spanS)}`
    : `${clockTime((choice.held?.from ?? 0) * 1e6, true)} to ${clockTime((choice.held?.to ?? 0) * 1e6, true)}`
  const baseName = useStation((state) => state?.channels.find(({ id }) => id === base)?.name)
  const less = baseName === undefined ? '' : `, less ${baseName}`
  const [a, b] = choice.cursors
  const between =
    a !== undefined && b !== undefined
      ? `Between the cursors: ${duration(Math.abs(b - a))}; ${changes(lines, unitAt, (channel) => at(channel, b) - at(channel, a))}`
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
          title={`${pane.title}${less}`}
          note={
            axis === 'own' && pane.spec.lines.length > MOST_OWN_AXES
              ? 'each line on a scale of its own'
              : undefined
          }
          unit={unitSign(pane.spec.unit)}
          where={where}
          onPicture={takePicture}
          onData={() => void copyReadings(session, pane.spec, viewNow(), hooks.setpointAt)}
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
            label={`${pane.title}${less} of ${counted(pane.spec.lines.length, 'channel')} over ${where}`}
          />
        </Pane>
      ))}
      <CursorLine time={pointedTime} values={values} between={between} />
    </>
  )
}

/** By how much each line changed from one cursor to the other; temperatures change in millikelvin. */
function changes(
  lines: readonly { channel: string; name: string }[],
  unitAt: (channel: string) => string,
  change: (channel: string) => number,
): string {
  return lines
    .slice(0, MOST_NAMED)
    .map(({ channel, name }) => {
      const unit = unitAt(channel)
      const [scale, of] = unit === 'degC' || unit === 'K' ? [1000, 'mK'] : [1, unit]
      return `${name} ${honest(change(channel) * scale, null, of).strong} ${unitSign(of)}`.trimEnd()
    })
    .join('   ')
}
