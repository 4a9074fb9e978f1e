import { useVirtualizer } from '@tanstack/react-virtual'
import { useLayoutEffect, useRef } from 'react'
import { utcTime } from '../text/times.ts'
import type { WireLine } from './wire.model.ts'

interface Props {
  lines: readonly WireLine[]
  names: Record<string, string>
  /** Keeps the newest in sight. */
  stick: boolean
}

const WORDS: Record<WireLine['direction'], string> = { sent: 'sent', received: 'received', note: 'note' }
const LINE_PX = 26

const stamp = (utcUs: number) => {
  const d = new Date(utcUs / 1000)
  return `${d.toTimeString().slice(0, 8)}.${String(d.getMilliseconds()).padStart(3, '0')}`
}

/** The traffic, newest last; only what is in sight is in the page. */
export function Traffic({ lines, names, stick }: Props) {
  const host = useRef<HTMLDivElement>(null)
  const rows = useVirtualizer({
    count: lines.length,
    getScrollElement: () => host.current,
    estimateSize: () => LINE_PX,
    overscan: 20,
  })
  const count = lines.length
  // biome-ignore lint/correctness/useExhaustiveDependencies: scrolls when lines have come
  useLayoutEffect(() => {
    if (stick && count > 0) rows.scrollToIndex(count - 1)
  }, [count, stick])
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reached by keys
    <div className="traffic" ref={host} tabIndex={0} role="log" aria-label="Traffic" aria-live="off">
      <div style={{ height: rows.getTotalSize(), position: 'relative' }}>
        {rows.getVirtualItems().map(({ index, start }) => {
          const line = lines[index]!
          return (
            <div
              key={line.n}
              className={`wire-line wire-${line.direction}`}
              style={{ transform: `translateY(${start}px)` }}
            >
              <time title={utcTime(line.utcUs)}>{stamp(line.utcUs)}</time>
              <span className="wire-name">{names[line.instrument] ?? line.instrument}</span>
              <span className="wire-direction">{WORDS[line.direction]}</span>
              <code>{line.text}</code>
            </div>
          )
        })}
      </div>
    </div>
  )
}
