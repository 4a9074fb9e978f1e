import type { ReactNode } from 'react'
import { type SectionLine, TURN_WORDS } from './sheet.model.ts'

interface Props {
  line: SectionLine
  open: boolean
  onToggle: () => void
  children: ReactNode
}

/** A part of the job sheet: what it says in a line, and the part itself once it is unfolded. */
export function Section({ line, open, onToggle, children }: Props) {
  const id = `section-${line.id}`
  return (
    <section className={`job-section is-${line.turn}`} aria-labelledby={id}>
      <h2 id={id}>
        <button type="button" aria-expanded={open} onClick={onToggle}>
          <span className="job-title">{line.title}</span>
          <span className="job-words">{line.words}</span>
          <span className="job-turn">{TURN_WORDS[line.turn]}</span>
        </button>
      </h2>
      {open && <div className="job-body">{children}</div>}
    </section>
  )
}
