import type { GuideText } from './guides.ts'

/** What to do at the bench, what may hurt, and what follows when it is recorded. */
export function Guide({ guide, open }: { guide: GuideText; open: boolean }) {
  return (
    <section className="guide" aria-label="At the bench">
      <details open={open}>
        <summary>At the bench, step by step</summary>
        <ol className="guide-steps">
          {guide.steps.map((step) => (
            <li key={step}>{step}</li>
          ))}
        </ol>
        <ul className="guide-cautions" aria-label="Cautions">
          {guide.cautions.map((caution) => (
            <li key={caution}>{caution}</li>
          ))}
        </ul>
      </details>
    </section>
  )
}
