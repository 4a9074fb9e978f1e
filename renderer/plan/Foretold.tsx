import { coverageText, roundedUncertainty } from '../../app/base/rounding.ts'
import type { Foretold } from '../../app/contract/studies.ts'
import { partWords } from '../../app/plan/part-words.ts'
import { Problem } from '../parts/Problem.tsx'
import { Scroll } from '../parts/Scroll.tsx'
import { fixed } from '../text/numbers.ts'

interface Props {
  /** undefined: not worked out yet. */
  foretold: Foretold | undefined
  problem: string | undefined
  /** Temperatures of the plan, rising, for the head of the table until the figures are there. */
  celsius: readonly number[]
}

/** Uncertainties of the night before it happens, what they are made of, and what would lower them. */
export function ForetoldPanel({ foretold, problem, celsius }: Props) {
  const results = foretold?.results ?? []
  return (
    <section className="sheet" aria-label="Foretold uncertainties">
      <h2>What it will tell</h2>
      <Problem words={problem ?? foretold?.refusal ?? undefined} />
      {foretold?.refusal === null || !foretold ? (
        <Scroll label="Foretold uncertainties by temperature">
          <table className="table foretold">
            <thead>
              <tr>
                <th scope="col" className="left">
                  U of the curve / mK
                </th>
                {celsius.map((c) => (
                  <th key={c} scope="col">{`${fixed(c, 2)} °C`}</th>
                ))}
              </tr>
            </thead>
            <tbody>
              {!foretold && (
                <tr>
                  <th scope="row">
                    <span className="faint">being worked out</span>
                  </th>
                  {celsius.map((c) => (
                    <td key={c}>–</td>
                  ))}
                </tr>
              )}
              {results.map(({ channel, name, refusal, at }) => {
                const largest = at.toSorted((a, b) => b.expandedMk - a.expandedMk)[0]
                return (
                  <tr key={channel}>
                    <th scope="row">
                      {name}
                      <small className="foretold-parts">
                        {refusal ?? (largest ? `Mostly ${partWords(largest.most)}` : '')}
                      </small>
                    </th>
                    {celsius.map((c) => {
                      const found = at.find((a) => a.celsius === c)
                      return (
                        <td key={c} title={found && `k = ${coverageText(found.k)}`}>
                          {found ? roundedUncertainty(found.expandedMk) : '–'}
                        </td>
                      )
                    })}
                  </tr>
                )
              })}
            </tbody>
          </table>
        </Scroll>
      ) : null}
      {foretold && foretold.changes.length > 0 && (
        <>
          <h3>What would change it</h3>
          <ul className="foretold-changes" aria-label="What would change it">
            {foretold.changes.map(({ id, words, moved }) => (
              <li key={id} className={moved.length === 0 ? 'faint' : undefined}>
                {words}
              </li>
            ))}
          </ul>
        </>
      )}
      {foretold?.remarks.map((words) => (
        <p key={words} className="faint">
          {words}
        </p>
      ))}
    </section>
  )
}
