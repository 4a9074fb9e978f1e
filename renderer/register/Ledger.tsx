import type { LedgerEntry } from '../../app/contract/studies.ts'
import { localDateTime, utcTime } from '../text/times.ts'

/** Every change and decision, newest first, each bound to the one before by its hash. */
export function Ledger({ entries }: { entries: readonly LedgerEntry[] }) {
  if (entries.length === 0)
    return (
      <p className="faint hint">
        Nothing is in the ledger yet. Every change of a record and every decision will be.
      </p>
    )
  return (
    <ol className="ledger" aria-label="Ledger">
      {[...entries].reverse().map((entry) => (
        <li key={entry.n}>
          <div className="row row-apart">
            <strong>{`${entry.n}. ${entry.what}`}</strong>
            <time title={utcTime(entry.utcUs)}>{localDateTime(entry.utcUs)}</time>
          </div>
          <p>{`${entry.who}${entry.subject ? `, ${entry.subject}` : ''}${entry.why ? `: ${entry.why}` : ''}`}</p>
          {(entry.old !== null || entry.new !== null) && (
            <details>
              <summary>Old and new</summary>
              <div className="halves">
                <pre>{pretty(entry.old)}</pre>
                <pre>{pretty(entry.new)}</pre>
              </div>
            </details>
          )}
          <small className="hash">{entry.hash}</small>
        </li>
      ))}
    </ol>
  )
}

function pretty(text: string | null): string {
  if (text === null) return 'nothing'
  try {
    return JSON.stringify(JSON.parse(text), null, 1)
  } catch {
    return text
  }
}
