import { CONVERSION_FORMS } from '../desk/record-fields.ts'
import { Button } from '../parts/Button.tsx'
import { Choice } from '../parts/Choice.tsx'
import { Field } from '../parts/Field.tsx'
import { FormFields } from '../parts/FormFields.tsx'
import { Problem } from '../parts/Problem.tsx'
import { Tick } from '../parts/Tick.tsx'
import { Paste } from './Paste.tsx'
import {
  CALIBRATION_FIELDS,
  type CalibrationDraft,
  type EntryDraft,
  fieldsOf,
  kindIn,
  RESISTOR_CALIBRATION_FIELDS,
  type Shelf,
  UNCERTAINTY_FIELDS,
  withPasted,
} from './register.model.ts'
import { TypedLook } from './TypedLook.tsx'
import type { Typed } from './typing.model.ts'

export interface CheckLine {
  severity: 'note' | 'warning' | 'error'
  words: string
}

interface Props {
  shelf: Shelf
  draft: EntryDraft
  problems: Record<string, string>
  checks: readonly CheckLine[]
  typed: Typed | undefined
  why: string
  /** What is hardly ever so, as questions; saved once somebody says that it is. */
  questions: readonly string[]
  sure: boolean
  onSure: (sure: boolean) => void
  /** Somebody has tried to save. */
  tried: boolean
  problem: string | undefined
  /** What is to be known of what is typed here. */
  aside: string | undefined
  onChange: (draft: EntryDraft) => void
  onWhy: (why: string) => void
  onCalibration: () => void
  onSave: () => void
  onCancel: () => void
}

/** A record being written. What is saved goes into the ledger with the old and the new. */
export function EntryEditor(props: Props) {
  const { shelf, draft, problems, checks, typed, why, questions, sure, tried, problem, onChange } = props
  const { calibration } = draft
  const setCalibration = (part: Partial<CalibrationDraft>) =>
    calibration && onChange({ ...draft, calibration: { ...calibration, ...part } })
  const form = calibration && CONVERSION_FORMS[calibration.kind]
  const relations = kindIn(shelf, draft.texts)?.conversions ?? []
  return (
    <section className="sheet" aria-label="Record being edited">
      {props.aside && (
        <p className="faint" role="status">
          {props.aside}
        </p>
      )}
      <FormFields
        specs={fieldsOf(shelf, draft.texts)}
        texts={draft.texts}
        problems={problems}
        onChange={(key, text) => onChange({ ...draft, texts: { ...draft.texts, [key]: text } })}
      />
      {(shelf === 'thermometers' || shelf === 'resistors') && !calibration && (
        <div>
          <Button onPress={props.onCalibration}>Enter a calibration</Button>
        </div>
      )}
      {calibration && (
        <section className="stack calibration" aria-label="New calibration">
          <h2>New calibration</h2>
          {shelf === 'thermometers' && (
            <Paste
              serial={draft.texts.serial ?? ''}
              onUse={(pasted) => setCalibration(withPasted(calibration, pasted))}
            />
          )}
          <FormFields
            specs={shelf === 'resistors' ? RESISTOR_CALIBRATION_FIELDS : CALIBRATION_FIELDS}
            texts={calibration.texts}
            problems={problems}
            prefix="calibration."
            onChange={(key, text) => setCalibration({ texts: { ...calibration.texts, [key]: text } })}
          />
          {shelf === 'thermometers' && form && (
            <>
              <Choice
                label="Relation on the certificate"
                value={calibration.kind}
                options={relations.map((id) => ({ id, ...CONVERSION_FORMS[id]! }))}
                onChange={(kind) => setCalibration({ kind, coefficients: {} })}
              />
              <p className="faint">{form.about} Type every digit as printed; commas and points both work.</p>
              <FormFields
                specs={form.fields}
                texts={calibration.coefficients}
                problems={problems}
                prefix="calibration."
                onChange={(key, text) =>
                  setCalibration({ coefficients: { ...calibration.coefficients, [key]: text } })
                }
              />
              {typed && <TypedLook typed={typed} />}
              <FormFields
                specs={UNCERTAINTY_FIELDS}
                texts={calibration.uncertainty}
                problems={problems}
                prefix="calibration."
                onChange={(key, text) =>
                  setCalibration({ uncertainty: { ...calibration.uncertainty, [key]: text } })
                }
              />
              <Problem words={problems['calibration.conversion']} />
            </>
          )}
        </section>
      )}
      {checks.length > 0 && (
        <ul className="checks" aria-label="Checks of this entry">
          {checks.map((check) => (
            <li key={check.words} className={`check check-${check.severity}`}>
              <strong>{check.words}</strong>
            </li>
          ))}
        </ul>
      )}
      {questions.length > 0 && (
        <section className="stack" aria-label="Is this so?">
          <ul className="checks">
            {questions.map((words) => (
              <li key={words} className="check check-warning">
                {words}
              </li>
            ))}
          </ul>
          <Tick on={sure} onChange={props.onSure}>
            It stands so on the certificate
          </Tick>
        </section>
      )}
      <Problem words={problem ?? problems.whole} />
      {tried && Object.keys(problems).length > 0 && (
        <Problem words="Something is missing or cannot be read: it is said beside each field." />
      )}
      <div className="row row-fields">
        <Field
          label="Why this change"
          value={why}
          onChange={props.onWhy}
          about="Kept in the ledger."
          problem={tried && why.trim() === '' ? 'Say in a few words why.' : undefined}
        />
        <Button look="main" onPress={props.onSave} disabled={questions.length > 0 && !sure}>
          Save the record
        </Button>
        <Button onPress={props.onCancel}>Cancel</Button>
      </div>
    </section>
  )
}
