import { fixed } from '../text/numbers.ts'
import type { Typed } from './typing.model.ts'

/** What the coefficients make as they are typed: faults at once, and values to hold against the certificate's table. */
export function TypedLook({ typed }: { typed: Typed }) {
  return (
    <section className="typed-look" aria-label="What these coefficients make">
      {typed.findings.length > 0 && (
        <ul className="checks" aria-label="While typing">
          {typed.findings.map(({ severity, words }) => (
            <li key={words} className={`check check-${severity}`}>
              <strong>{words}</strong>
            </li>
          ))}
        </ul>
      )}
      {typed.rows.length > 0 && (
        <>
          <p className="faint">These coefficients make, to be held against the table of the certificate:</p>
          <ul className="typed-rows">
            {typed.rows.map(({ celsius, signal }) => (
              <li key={celsius}>{`${fixed(celsius, 2)} °C: ${fixed(signal, 5)} ${typed.unit}`}</li>
            ))}
          </ul>
        </>
      )}
    </section>
  )
}
