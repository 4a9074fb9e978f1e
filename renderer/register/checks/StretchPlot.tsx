import { type PointerEvent, useMemo, useRef } from 'react'
import { at } from '../../../app/base/lists.ts'
import { linearAxis, MARGIN, spread, timeAxis } from '../../plots/axes.ts'
import { Frame } from '../../plots/Frame.tsx'
import { useWidth } from '../../plots/use-width.ts'
import { clockTime } from '../../text/times.ts'

interface Props {
  label: string
  yTitle: string
  /** Moments, s UTC, and values. */
  x: readonly number[]
  y: readonly number[]
  /** What of the values is in sight; all of them where it is not given. */
  range?: { low: number; high: number } | undefined
  stretch: { from: number; to: number }
  onStretch: (from: number, to: number) => void
  height?: number
}

/** A key moves an end by this part of the record. */
const KEY_STEP = 0.005
const LARGE = 10

/** A record over time with the stretch a value is taken from: its two ends are dragged, or moved by the arrow keys. */
export function StretchPlot({ label, yTitle, x, y, range, stretch, onStretch, height = 300 }: Props) {
  const { ref, width, remPx } = useWidth<HTMLElement>()
  const drawing = useRef<SVGSVGElement>(null)
  const [first = 0, last = 1] = [x[0], x.at(-1)]
  const seen = useMemo(() => range ?? spread(y), [range, y])
  const yAxis = linearAxis(seen.low, seen.high, height - MARGIN.bottom, MARGIN.top, 6)
  const xAxis = timeAxis(first, last, MARGIN.left, width - MARGIN.right, Math.max(2, width / 110), remPx)
  const path = x
    .map((t, i) => `${i === 0 ? 'M' : 'L'}${xAxis.at(t).toFixed(1)} ${clamp(yAxis.at(at(y, i)), height)}`)
    .join('')
  const [from, to] = [xAxis.at(stretch.from), xAxis.at(stretch.to)]
  const within = (t: number) => Math.min(last, Math.max(first, t))
  const move = (end: 'from' | 'to', t: number) =>
    end === 'from'
      ? onStretch(Math.min(within(t), stretch.to), stretch.to)
      : onStretch(stretch.from, Math.max(within(t), stretch.from))
  const dragged = (event: PointerEvent<SVGElement>, end: 'from' | 'to') => {
    if (!event.currentTarget.hasPointerCapture(event.pointerId)) return
    const box = drawing.current!.getBoundingClientRect()
    move(end, xAxis.of(event.clientX - box.left))
  }
  return (
    <figure className="small-plot stretch-plot" ref={ref} aria-label={label}>
      {/* biome-ignore lint/a11y/noSvgWithoutTitle: the figure names it, and a title would hang at the pointer everywhere */}
      <svg ref={drawing} width={width} height={height}>
        <Frame x={xAxis} y={yAxis} width={width} height={height} xTitle="Local time" yTitle={yTitle}>
          <rect
            className="stretch"
            x={from}
            y={MARGIN.top}
            width={Math.max(0, to - from)}
            height={height - MARGIN.top - MARGIN.bottom}
          />
          <path className="record-line" d={path} />
        </Frame>
        {(['from', 'to'] as const).map((end) => {
          const px = end === 'from' ? from : to
          return (
            <g
              key={end}
              role="slider"
              tabIndex={0}
              className="stretch-end"
              aria-label={end === 'from' ? 'Beginning of the stretch' : 'End of the stretch'}
              aria-valuemin={first}
              aria-valuemax={last}
              aria-valuenow={Math.round(stretch[end])}
              aria-valuetext={clockTime(stretch[end] * 1e6, true)}
              transform={`translate(${px} 0)`}
              onPointerDown={(event) => event.currentTarget.setPointerCapture(event.pointerId)}
              onPointerMove={(event) => dragged(event, end)}
              onKeyDown={(event) => {
                const steps = { ArrowLeft: -1, ArrowRight: 1, PageDown: -LARGE, PageUp: LARGE }[event.key]
                if (steps === undefined) return
                event.preventDefault()
                move(end, stretch[end] + steps * KEY_STEP * (last - first))
              }}
            >
              <rect
                x={-11}
                y={MARGIN.top}
                width={22}
                height={height - MARGIN.top - MARGIN.bottom}
                fill="transparent"
              />
              <line y1={MARGIN.top} y2={height - MARGIN.bottom} />
              <path d={end === 'from' ? 'M0 10H9V26H0Z' : 'M0 10H-9V26H0Z'} />
            </g>
          )
        })}
      </svg>
    </figure>
  )
}

/** Far outside of sight a line need not be exact, and browsers lose patience with very large numbers. */
const clamp = (px: number, height: number): string =>
  Math.min(3 * height, Math.max(-2 * height, px)).toFixed(1)
