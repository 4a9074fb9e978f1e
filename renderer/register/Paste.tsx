import { useState } from 'react'
import { Button } from '../parts/Button.tsx'
import { Field } from '../parts/Field.tsx'
import { type Pasted, takeApart } from './paste.model.ts'

interface Props {
  /** Serial number of the record that is edited; empty: not known. */
  serial: string
  onUse: (pasted: Pasted) => void
}

/** A certificate's text or table, pasted; what was found in it is looked at before the form takes it. */
export function Paste({ serial, onUse }: Props) {
  const [text, setText] = useState('')
  const pasted = takeApart(text)
  const other = serial !== '' && pasted.serial !== undefined && pasted.serial !== serial
  const doubts = [
    ...(other ? [`The text names serial number ${pasted.serial}; this record has ${serial}.`] : []),
    ...pasted.doubts,
  ]
  return (
    <details>
      <summary>Paste the text of the certificate</summary>
      <div className="stack">
        <Field
          label="Text or table of the certificate"
          lines={5}
          value={text}
          onChange={setText}
          about="Copied from the certificate's PDF or a spreadsheet. Nothing is entered before you have looked at it."
        />
        {text.trim() !== '' && pasted.found.length === 0 && (
          <p>Nothing in this text was understood. Type the coefficients below.</p>
        )}
        {doubts.length > 0 && (
          <ul className="checks" aria-label="Doubts about the text">
            {doubts.map((words) => (
              <li key={words} className="check check-warning">
                {words}
              </li>
            ))}
          </ul>
        )}
        {pasted.found.length > 0 && (
          <>
            <ul className="found" aria-label="Found in the text">
              {pasted.found.map((one) => (
                <li key={one.field}>
                  <strong>{`${one.label}: ${one.text.replaceAll('\n', '; ')}`}</strong>
                  <span className="faint">{`from "${one.from}"`}</span>
                </li>
              ))}
            </ul>
            <div>
              <Button
                onPress={() => {
                  onUse(pasted)
                  setText('')
                }}
              >
                Put these into the form
              </Button>
            </div>
          </>
        )}
      </div>
    </details>
  )
}
