import { type Axis, linearAxis, MARGIN, spread, timeAxis } from './axes.ts'
import { Frame } from './Frame.tsx'
import { MARKER_PATHS, seriesLook } from './palette.ts'
import { useWidth } from './use-width.ts'

export interface Dot {
  key: string
  x: number
  y: number
  /** Half the bar through it. */
  bar?: number
  /** What it is, in words. */
  words: string
  onPress?: (() => void) | undefined
}

export interface DotSeries {
  name: string
  dots: readonly Dot[]
  joined?: boolean
  /** Only a line: no marks and no words. */
  bare?: boolean
}

export interface AcrossLine {
  name: string
  y: number
  look: 'centre' | 'look' | 'act'
}

interface Props {
  label: string
  xTitle: string
  yTitle: string
  series: readonly DotSeries[]
  across?: readonly AcrossLine[]
  theme: string
  height?: number
  dates?: boolean
  /** Zero belongs in sight. */
  withZero?: boolean
}

/** A small drawing of a few values with their bars. What a dot is, it says; where it leads somewhere, it can be pressed. */
export function DotPlot(props: Props) {
  const { label, series, across = [], theme, height = 260, dates } = props
  const { ref, width, remPx } = useWidth<HTMLElement>()
  const dots = series.flatMap((s) => s.dots)
  const ys = [
    ...dots.flatMap(({ y, bar = 0 }) => [y - bar, y + bar]),
    ...across.map(({ y }) => y),
    ...(props.withZero ? [0] : []),
  ]
  const yRange = spread(ys)
  const xRange = spread(
    dots.map((d) => d.x),
    0.04,
  )
  const y = linearAxis(yRange.low, yRange.high, height - MARGIN.bottom, MARGIN.top, 5)
  const [from, to] = [MARGIN.left, width - MARGIN.right]
  const about = Math.max(2, width / 130)
  const x = dates
    ? timeAxis(xRange.low, xRange.high, from, to, about, remPx)
    : linearAxis(xRange.low, xRange.high, from, to, about)
  return (
    <figure className="small-plot" ref={ref} aria-label={label}>
      {series.length > 1 && <Legend series={series} theme={theme} />}
      {/* biome-ignore lint/a11y/noSvgWithoutTitle: the figure names it, and a title would hang at the pointer everywhere */}
      <svg width={width} height={height}>
        <Frame x={x} y={y} width={width} height={height} xTitle={props.xTitle} yTitle={props.yTitle}>
          {across.map((line) => (
            <line
              key={`${line.name}${line.y}`}
              className={`across across-${line.look}`}
              x1={MARGIN.left}
              x2={width}
              y1={y.at(line.y)}
              y2={y.at(line.y)}
            >
              <title>{line.name}</title>
            </line>
          ))}
          {series.map((one, i) => (
            <Series key={one.name} series={one} x={x} y={y} look={seriesLook(i, theme === 'dark')} />
          ))}
        </Frame>
      </svg>
    </figure>
  )
}

function Series({
  series,
  x,
  y,
  look,
}: {
  series: DotSeries
  x: Axis
  y: Axis
  look: ReturnType<typeof seriesLook>
}) {
  const path = series.dots.map(
    (d, i) => `${i === 0 ? 'M' : 'L'}${x.at(d.x).toFixed(1)} ${y.at(d.y).toFixed(1)}`,
  )
  return (
    <g stroke={look.colour} fill={look.colour}>
      {series.joined && (
        <path d={path.join('')} fill="none" strokeWidth={1.4} strokeDasharray={look.dash.join(' ')} />
      )}
      {!series.bare &&
        series.dots.map((dot) => (
          <Mark key={dot.key} dot={dot} x={x} y={y} path={MARKER_PATHS[look.marker]} />
        ))}
    </g>
  )
}

const BAR_END = 4

function Mark({ dot, x, y, path }: { dot: Dot; x: Axis; y: Axis; path: string }) {
  const [cx, cy] = [x.at(dot.x), y.at(dot.y)]
  const drawn = (
    <>
      {dot.bar !== undefined && dot.bar > 0 && (
        <path
          fill="none"
          strokeWidth={1.2}
          d={[dot.y - dot.bar, dot.y + dot.bar]
            .map((end) => `M${cx} ${cy}V${y.at(end)}M${cx - BAR_END} ${y.at(end)}H${cx + BAR_END}`)
            .join('')}
        />
      )}
      <path d={path} transform={`translate(${cx} ${cy}) scale(5)`} stroke="none" />
      <circle cx={cx} cy={cy} r={13} fill="transparent" stroke="none" />
    </>
  )
  if (!dot.onPress) {
    return (
      <g>
        <title>{dot.words}</title>
        {drawn}
      </g>
    )
  }
  return (
    // biome-ignore lint/a11y/useSemanticElements: a button cannot be drawn inside an SVG
    <g
      role="button"
      tabIndex={0}
      className="dot-press"
      aria-label={`${dot.words}. Open its session`}
      onClick={dot.onPress}
      onKeyDown={(event) => {
        if (event.key !== 'Enter' && event.key !== ' ') return
        event.preventDefault()
        dot.onPress?.()
      }}
    >
      <title>{`${dot.words}. Open its session`}</title>
      {drawn}
    </g>
  )
}

function Legend({ series, theme }: { series: readonly DotSeries[]; theme: string }) {
  return (
    <ul className="plot-legend">
      {series.map(({ name, bare }, i) => {
        const look = seriesLook(i, theme === 'dark')
        return (
          <li key={name}>
            <svg width={26} height={12} aria-hidden="true" stroke={look.colour} fill={look.colour}>
              <path d="M1 6H25" fill="none" strokeDasharray={look.dash.join(' ')} />
              {!bare && (
                <path d={MARKER_PATHS[look.marker]} transform="translate(13 6) scale(4)" stroke="none" />
              )}
            </svg>
            {name}
          </li>
        )
      })}
    </ul>
  )
}
