import type { ReactNode } from 'react'

interface Props {
  head: ReactNode
  tools: ReactNode
  readouts: ReactNode
  crowd: string
  /** What is on show is from before. */
  old: boolean
  panes: ReactNode
  below: ReactNode
}

export function WatchPanel({ head, tools, readouts, crowd, old, panes, below }: Props) {
  return (
    <div className={`watch watch-${crowd}${old ? ' is-old' : ''}`}>
      <div className="watch-head">
        {head}
        {tools}
      </div>
      <ul className="readouts" aria-label="Channels">
        {readouts}
      </ul>
      <div className="panes">{panes}</div>
      {below}
    </div>
  )
}
