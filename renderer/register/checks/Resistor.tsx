import type { ReactNode } from 'react'
import { Choice, type Finder } from '../../parts/Choice.tsx'
import { Field } from '../../parts/Field.tsx'

interface Props {
  resistors: readonly { id: string; name: string }[]
  finder: Finder | undefined
  resistor: string
  better: string
  texts: { ratio: string; uRatio: string }
  problems: { ratio: string | undefined; uRatio: string | undefined }
  fromSession: ReactNode
  onIds: (change: { resistor?: string; better?: string }) => void
  onTexts: (change: Partial<Props['texts']>) => void
}

/** Which resistor, against which, and the ratio. */
export function ResistorPage({
  resistors,
  finder,
  resistor,
  better,
  texts,
  problems,
  fromSession,
  onIds,
  onTexts,
}: Props) {
  return (
    <section className="sheet" aria-label="The ratio">
      <h3>The ratio</h3>
      <div className="fields wide-fields">
        <Choice
          label="Resistor that is compared"
          value={resistor}
          options={resistors}
          finder={finder}
          onChange={(id) => onIds({ resistor: id })}
        />
        <Choice
          label="Better resistor"
          value={better}
          options={resistors}
          finder={finder}
          onChange={(id) => onIds({ better: id })}
        />
        <Field
          label="Ratio to the better one"
          numeric
          value={texts.ratio}
          problem={problems.ratio}
          onChange={(ratio) => onTexts({ ratio })}
        />
        <Field
          label="Standard uncertainty of the ratio"
          numeric
          value={texts.uRatio}
          problem={problems.uRatio}
          about="Of the mean, and the bridge’s own."
          onChange={(uRatio) => onTexts({ uRatio })}
        />
      </div>
      {fromSession}
    </section>
  )
}
