import type { ReactNode } from 'react'
import { StillWater } from '../signs/StillWater.tsx'

interface Props {
  title: string
  children: ReactNode
  /** One that does it, one that tries it. */
  buttons?: ReactNode
}

/** An empty place teaches: what belongs here, how it comes, and how to try it without an instrument. */
export function Empty({ title, children, buttons }: Props) {
  return (
    <section className="empty">
      <StillWater state="flat" held={1} wide word={false} />
      <h2>{title}</h2>
      <div className="empty-words">{children}</div>
      {buttons && <div className="row">{buttons}</div>}
    </section>
  )
}
