import type { ReactNode } from 'react'

interface Props {
  strip: ReactNode
  rail: ReactNode
  /** The note of the first walk, before the place in the order of focus. */
  walk: ReactNode
  alarms: ReactNode
  children: ReactNode
  thread: ReactNode
  line: ReactNode
  /** Why nothing is shown yet or any more, in words, in place of the place. */
  curtain: string | undefined
  title: string
}

export function Shell({ strip, rail, walk, alarms, children, thread, line, curtain, title }: Props) {
  return (
    <div className="shell">
      <a className="skip" href="#place">
        Go to the place itself
      </a>
      <header className="shell-strip">{strip}</header>
      {rail}
      {walk}
      <main className="place" id="place" tabIndex={-1}>
        <h1 className="unseen">{title}</h1>
        {alarms}
        {curtain ? <p className="curtain">{curtain}</p> : children}
      </main>
      {thread}
      {line}
    </div>
  )
}
