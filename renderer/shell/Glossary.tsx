import { useState } from 'react'
import { GLOSSARY, GLOSSARY_PARTS, GLOSSARY_TITLES, type Term } from '../../app/words/glossary.ts'
import { Field } from '../parts/Field.tsx'
import { Reading } from '../parts/Reading.tsx'
import { Scroll } from '../parts/Scroll.tsx'

const has = ({ term, words, symbol, not }: Term, text: string): boolean =>
  [term, words, symbol, ...(not ?? [])].some((part) =>
    part?.toLowerCase().includes(text.trim().toLowerCase()),
  )

/** What the words of the window mean. A word that it does not use finds the one that it does. */
export function Glossary({ onClose }: { onClose: () => void }) {
  const [search, setSearch] = useState('')
  const parts = GLOSSARY_PARTS.map((id) => ({
    id,
    terms: GLOSSARY[id].filter((term) => has(term, search)),
  })).filter(({ terms }) => terms.length > 0)
  return (
    <Reading title="Glossary" look="glossary" onClose={onClose}>
      <Field label="Find a word" type="search" value={search} onChange={setSearch} />
      <Scroll label="Words and what they mean" className="glossary-scroll">
        {parts.length === 0 && <p>No such word here.</p>}
        {parts.map(({ id, terms }) => (
          <section key={id} aria-labelledby={`glossary-${id}`}>
            <h3 id={`glossary-${id}`}>{GLOSSARY_TITLES[id]}</h3>
            <dl>
              {terms.map(({ term, words, symbol, unit }) => (
                <div key={term}>
                  <dt>
                    {term}
                    {(symbol ?? unit) && <small>{[symbol, unit].filter(Boolean).join('; ')}</small>}
                  </dt>
                  <dd>{words}</dd>
                </div>
              ))}
            </dl>
          </section>
        ))}
      </Scroll>
    </Reading>
  )
}
