import type { ReactNode } from 'react'
import type { Finder } from '../../parts/Choice.tsx'
import { Field } from '../../parts/Field.tsx'
import { Problem } from '../../parts/Problem.tsx'
import { Guide } from './Guide.tsx'
import { CHECK_PAGES, type CheckPage, type GuideText } from './guides.ts'

interface Props {
  page: CheckPage
  guide: GuideText
  /** Nothing has been recorded yet: what to do stands open. */
  isNew: boolean
  problem: string | undefined
  /** Where there are more sessions than are offered. */
  finder: Finder | undefined
  practise: ReactNode
  recording: ReactNode
  children: ReactNode
  onPage: (page: CheckPage) => void
}

const EMPTY_WORDS =
  'No session has been recorded on this station yet. A check begins with one: record your own bench, or let the lab in a box make records to practise on.'

/** The list of checks, and the one that is worked on. */
export function ChecksPanel({
  page,
  guide,
  isNew,
  problem,
  finder,
  practise,
  recording,
  children,
  onPage,
}: Props) {
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
        <Guide key={`guide ${page}`} guide={guide} open={isNew} />
        {isNew && <p>{EMPTY_WORDS}</p>}
        {recording}
        <Problem words={problem} />
        {finder && (
          <Field
            label="Find a session"
            type="search"
            value={finder.typed}
            onChange={finder.onTyped}
            about={finder.words}
          />
        )}
        {children}
        {practise}
      </article>
    </div>
  )
}
