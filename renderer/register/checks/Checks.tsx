import type { ReactNode } from 'react'
import { Problem } from '../../parts/Problem.tsx'
import { Guide } from './Guide.tsx'
import { CHECK_PAGES, type CheckPage, type GuideText } from './guides.ts'

interface Props {
  page: CheckPage
  guide: GuideText
  /** Nothing has been recorded yet: what to do stands open. */
  isNew: boolean
  problem: string | undefined
  practise: ReactNode
  children: ReactNode
  onPage: (page: CheckPage) => void
}

/** The list of checks, and the one that is worked on. */
export function ChecksPanel({ page, guide, isNew, problem, practise, children, onPage }: Props) {
  const own = CHECK_PAGES.find(({ id }) => id === page)!
  return (
    <div className="two checks-place">
      <nav className="pick" aria-label="Checks">
        {CHECK_PAGES.map(({ id, name, about }) => (
          <button key={id} type="button" aria-current={id === page} onClick={() => onPage(id)}>
            <span>{name}</span>
            <small>{about}</small>
          </button>
        ))}
      </nav>
      <article className="stack" aria-label={own.name}>
        <h2 className="place-title">{own.name}</h2>
        <Guide key={page} guide={guide} open={isNew} />
        <Problem words={problem} />
        {children}
        {practise}
      </article>
    </div>
  )
}
