import { useLayoutEffect, useRef } from 'react'
import type { LiveBoard } from '../live/board.ts'
import { frames } from '../live/frame.ts'
import type { Shown } from '../live/quantity.ts'
import { newestShown } from '../live/shown.ts'
import { expanded, honest } from '../signs/digits.ts'
import { unitSign } from '../text/numbers.ts'

interface Props {
  board: LiveBoard
  channel: string
  shown: Shown
  unit: string
  u: number | null
  setpointC: number | null
  base: string | null
  extra: number
  /** Decimals to fill up to with blank figures. */
  decimals?: number
  showExpanded: boolean
}

/** The newest number of a channel, written into the page by frames, never by React. */
export function LiveDigits({
  board,
  channel,
  shown,
  unit,
  u,
  setpointC,
  base,
  extra,
  decimals = 0,
  showExpanded,
}: Props) {
  const strong = useRef<HTMLSpanElement>(null)
  const weak = useRef<HTMLSpanElement>(null)
  useLayoutEffect(() => {
    let last = Number.NaN
    let fresh = true
    const painter = frames.add(() => {
      const value = newestShown(board, channel, { shown, base }, setpointC)
      if (!fresh && (value === last || (Number.isNaN(value) && Number.isNaN(last)))) return
      fresh = false
      last = value
      const text = honest(value, u, unit, extra, decimals)
      strong.current!.textContent = text.strong
      weak.current!.textContent = text.weak
    })
    return () => painter.dispose()
  }, [board, channel, shown, u, unit, setpointC, base, extra, decimals])
  return (
    <span className="digits">
      <span className="digits-strong" ref={strong}>
        –
      </span>
      <span className="digits-weak" ref={weak} />
      <span className="digits-unit">{` ${unitSign(unit)}`}</span>
      {showExpanded && <span className="digits-expanded">{expanded(u)}</span>}
    </span>
  )
}
