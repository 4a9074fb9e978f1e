import 'uplot/dist/uPlot.min.css'
import { useEffect, useRef } from 'react'
import type { LiveBoard } from '../live/board.ts'
import { frames } from '../live/frame.ts'
import type { PaneHooks, TimeWindow } from './hooks.ts'
import { PlotPane } from './pane.ts'
import type { PaneSpec, PastLane } from './spec.ts'

interface Props {
  board: LiveBoard
  spec: PaneSpec
  hooks: PaneHooks
  /** Asked in every frame: follows the newest reading or holds. */
  window: () => TimeWindow
  past: Map<string, PastLane>
  selected: TimeWindow | null
  cursors: readonly number[]
  theme: string
  label: string
}

/** Least time between two paints of one plot: ten a second are all painted, more would only heat the room. */
const LEAST_MS = 60

/** Where uPlot lives in React: the element is React's, everything inside is painted by frames. */
export function LivePlot({
  board,
  spec,
  hooks,
  window: asked,
  past,
  selected,
  cursors,
  theme,
  label,
}: Props) {
  const host = useRef<HTMLDivElement>(null)
  const pane = useRef<PlotPane | undefined>(undefined)
  const window = useRef(asked)
  window.current = asked

  // biome-ignore lint/correctness/useExhaustiveDependencies: the pane is made anew with the theme, told of the rest
  useEffect(() => {
    const made = new PlotPane(host.current!, board, spec, hooks)
    pane.current = made
    let painted = 0
    let again: ReturnType<typeof setTimeout> | undefined
    const painter = frames.add((atMs) => {
      const at = window.current()
      const early = LEAST_MS - (atMs - painted)
      if (early > 0) {
        again ??= setTimeout(() => {
          again = undefined
          frames.wake()
        }, early)
        return
      }
      painted = atMs
      made.paint(at)
    }, 'plots')
    const sizes = new ResizeObserver(() => {
      made.resize()
      frames.wake()
    })
    sizes.observe(host.current!)
    return () => {
      clearTimeout(again)
      sizes.disconnect()
      painter.dispose()
      made.dispose()
      pane.current = undefined
    }
  }, [board, theme, spec])

  useEffect(() => {
    pane.current?.setPast(past)
    frames.wake()
  }, [past])
  useEffect(() => {
    pane.current?.setSelected(selected, cursors)
  }, [selected, cursors])
  useEffect(() => frames.wake())

  return <div className="live-plot" ref={host} role="img" aria-label={label} />
}
