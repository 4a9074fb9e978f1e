import { memo, useId, useRef, useState } from 'react'
import { utcTime } from '../../app/base/times.ts'
import { clockTime } from '../text/times.ts'
import { type StripPicture, type StripSign, type StripStep, stripStops } from './night.model.ts'

interface Props {
  picture: StripPicture | undefined
  /** Part of the night that is looked at, in per cent; undefined while following. */
  looked?: { from: number; to: number } | undefined
  onGo?: (utcUs: number, toUtcUs?: number) => void
  small?: boolean
  label?: string
}

/** The whole session in a band: setpoint steps, what is settled, points, gaps, alarms, and now. */
export const NightStrip = memo(function NightStrip({
  picture,
  looked,
  onGo,
  small,
  label = 'Night strip',
}: Props) {
  const host = useRef<HTMLDivElement>(null)
  const hatch = useId()
  const [stop, setStop] = useState<number | null>(null)
  const [hover, setHover] = useState<number | null>(null)
  const dragFrom = useRef<number | null>(null)
  if (!picture) {
    return small ? null : (
      <div className="strip strip-empty">
        <span>No session is running. The next night is drawn here, from its start to its expected end.</span>
      </div>
    )
  }
  const time = (at: number) => picture.startUtcUs + (at / 100) * (picture.endUtcUs - picture.startUtcUs)
  const partAt = (clientX: number) => {
    const box = host.current!.getBoundingClientRect()
    return Math.min(100, Math.max(0, ((clientX - box.left) / box.width) * 100))
  }
  const stops = stripStops(picture)
  const current = stop === null ? undefined : stops[stop]
  const go = (from: number, to?: number) => onGo?.(time(from), to === undefined ? undefined : time(to))
  const at = current?.at ?? picture.now ?? 100
  // What of a step has been; the rest of it lies ahead and is dashed.
  const gone = (step: StripStep) => Math.min(step.to, Math.max(step.from, picture.now ?? step.to))
  const drawing = (
    <svg className="strip-drawing" aria-hidden="true">
      <defs>
        <pattern id={hatch} width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <line x1="0" y1="0" x2="0" y2="5" className="strip-hatch" />
        </pattern>
      </defs>
      {picture.signs
        .filter((s) => s.kind === 'gap')
        .map((s) => (
          <rect
            key={`gap${s.utcUs}`}
            x={`${s.at}%`}
            width={`${Math.max(0.3, s.to - s.at)}%`}
            y="0"
            height="84%"
            fill={`url(#${hatch})`}
          />
        ))}
      {picture.steps.map((step, i) => {
        const next = picture.steps[i + 1]
        return (
          <g
            key={`${step.expected}-${step.from}-${step.y}`}
            className={step.expected ? 'strip-step is-expected' : 'strip-step'}
          >
            <line x1={`${step.from}%`} x2={`${gone(step)}%`} y1={`${step.y}%`} y2={`${step.y}%`} />
            {gone(step) < step.to && (
              <line
                className="strip-ahead"
                x1={`${gone(step)}%`}
                x2={`${step.to}%`}
                y1={`${step.y}%`}
                y2={`${step.y}%`}
              />
            )}
            {next && (
              <line
                x1={`${step.to}%`}
                x2={`${step.to}%`}
                y1={`${step.y}%`}
                y2={`${next.y}%`}
                className="strip-riser"
              />
            )}
            {!small && step.to - step.from > 5 && (
              <text
                x={`${step.from}%`}
                y={`${step.y}%`}
                dx="5"
                dy={step.y < 34 ? 13 : -5}
                className="strip-celsius"
              >
                {step.label}
              </text>
            )}
            {step.settledAt !== undefined && (
              <line
                className="strip-settled"
                x1={`${step.settledAt}%`}
                x2={`${Math.min(step.to, picture.now ?? 100)}%`}
                y1={`${step.y}%`}
                y2={`${step.y}%`}
              />
            )}
          </g>
        )
      })}
      {picture.signs.map((s) => (
        <Sign key={`${s.kind}${s.utcUs}${s.words}`} sign={s} />
      ))}
      {picture.now !== undefined && (
        <line className="strip-now" x1={`${picture.now}%`} x2={`${picture.now}%`} y1="0" y2="100%" />
      )}
      {looked && (
        <rect
          className="strip-looked"
          x={`${looked.from}%`}
          width={`${Math.max(0.2, looked.to - looked.from)}%`}
          y="0"
          height="100%"
        />
      )}
      {current && (
        <line className="strip-stop" x1={`${current.at}%`} x2={`${current.at}%`} y1="0" y2="100%" />
      )}
    </svg>
  )
  const labels = !small && (
    <div className="strip-hours" aria-hidden="true">
      {picture.hours
        .filter((h) => h.at > 1 && h.at < 97)
        .map((h) => (
          <span key={h.at} style={{ left: `${h.at}%` }}>
            {h.words}
          </span>
        ))}
    </div>
  )
  if (!onGo) {
    return (
      <div ref={host} className={`strip${small ? ' strip-small' : ''}`} role="img" aria-label={label}>
        {drawing}
        {labels}
      </div>
    )
  }
  return (
    <div
      ref={host}
      className={`strip${small ? ' strip-small' : ''}`}
      role="slider"
      tabIndex={0}
      aria-label={label}
      aria-valuemin={0}
      aria-valuemax={100}
      aria-valuenow={Math.round(at)}
      aria-valuetext={`${clockTime(time(at))}${current ? `, ${current.words}` : ''}`}
      title={hover === null ? undefined : `${clockTime(time(hover))} (${utcTime(time(hover))})`}
      onKeyDown={(event) => {
        const step = event.key === 'ArrowRight' ? 1 : event.key === 'ArrowLeft' ? -1 : 0
        if (step !== 0) {
          event.preventDefault()
          setStop((old) => Math.min(stops.length - 1, Math.max(0, (old ?? stops.length) + step)))
        } else if (event.key === 'Enter' && current) go(current.at)
      }}
      onBlur={() => setStop(null)}
      onPointerDown={(event) => {
        dragFrom.current = partAt(event.clientX)
        host.current!.setPointerCapture(event.pointerId)
      }}
      onPointerMove={(event) => setHover(partAt(event.clientX))}
      onPointerLeave={() => setHover(null)}
      onPointerUp={(event) => {
        const from = dragFrom.current
        dragFrom.current = null
        if (from === null) return
        const to = partAt(event.clientX)
        if (Math.abs(to - from) > 1) go(Math.min(from, to), Math.max(from, to))
        else go(to)
      }}
    >
      {drawing}
      {labels}
      {hover !== null && (
        <span className="strip-hover" style={{ left: `${Math.min(94, hover)}%` }} aria-hidden="true">
          {clockTime(time(hover))}
        </span>
      )}
    </div>
  )
})

function Sign({ sign }: { sign: StripSign }) {
  const place = { x: `${sign.at}%`, y: `${sign.y}%`, overflow: 'visible' }
  switch (sign.kind) {
    case 'point':
    case 'expected-point':
      return (
        <svg {...place} aria-hidden="true">
          <circle r="4.2" className={sign.kind === 'point' ? 'strip-point' : 'strip-point is-expected'} />
        </svg>
      )
    case 'alarm':
      return (
        <svg x={`${sign.at}%`} y="0" overflow="visible" aria-hidden="true">
          <path d="M-6 1h12l-6 11z" className={sign.isWarning ? 'strip-alarm is-warning' : 'strip-alarm'} />
        </svg>
      )
    case 'note':
      return (
        <svg x={`${sign.at}%`} y="84%" overflow="visible" aria-hidden="true">
          <path d="M0 0v-12h8v5h-8" className="strip-note" />
        </svg>
      )
    default:
      return null
  }
}
