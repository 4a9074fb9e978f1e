import { memo, useRef, useState } from 'react'
import { utcTime } from '../../app/base/times.ts'
import { clockTime } from '../text/times.ts'
import { type StripPicture, stripStops } from './night.model.ts'
import { StripDrawing } from './StripDrawing.tsx'

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
        <StripDrawing picture={picture} looked={looked} small={small} stopAt={current?.at} />
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
      <StripDrawing picture={picture} looked={looked} small={small} stopAt={current?.at} />
      {labels}
      {hover !== null && (
        <span className="strip-hover" style={{ left: `${Math.min(94, hover)}%` }} aria-hidden="true">
          {clockTime(time(hover))}
        </span>
      )}
    </div>
  )
})
