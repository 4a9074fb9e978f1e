import { useLayoutEffect, useRef } from 'react'
import { frames } from '../live/frame.ts'
import { clockTime } from '../text/times.ts'

interface Props {
  /** Time under the pointer, or null. */
  time: () => number | null
  values: (time: number) => string
  /** Difference between two cursors, where both are set. */
  between: string | undefined
}

/** What the lines say under the pointer; written by frames. */
export function CursorLine({ time, values, between }: Props) {
  const text = useRef<HTMLSpanElement>(null)
  useLayoutEffect(() => {
    const painter = frames.add(() => {
      const at = time()
      const words = at === null ? '' : `${clockTime(at * 1e6, true)}   ${values(at)}`
      if (text.current!.textContent !== words) text.current!.textContent = words
    })
    return () => painter.dispose()
  }, [time, values])
  return (
    <p className="cursor-line">
      <span ref={text} />
      {between && <span className="cursor-between">{between}</span>}
    </p>
  )
}
