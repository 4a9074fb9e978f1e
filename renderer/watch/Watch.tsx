import type { ReactNode } from 'react'

interface Props {
  head: ReactNode
  tools: ReactNode
  readouts: ReactNode
  crowd: string
  panes: ReactNode
  below: ReactNode
}

export function WatchPanel({ head, tools, readouts, crowd, panes, below }: Props) {
  return (
    <div className={`watch watch-${crowd}`}>
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
