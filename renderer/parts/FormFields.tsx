import { Choice } from './Choice.tsx'
import { Field } from './Field.tsx'
import { type FieldSpec, fieldsFor, type Texts } from './forms.ts'

interface Props {
  specs: readonly FieldSpec[]
  texts: Texts
  problems: Record<string, string>
  /** Before the keys of `problems`. */
  prefix?: string
  /** Fields with room for an address or a sentence. */
  wide?: boolean
  onChange: (key: string, text: string) => void
}

const NONE = '-'

/** The fields of a form described as data. */
export function FormFields({ specs, texts, problems, prefix = '', wide, onChange }: Props) {
  return (
    <div className={wide ? 'fields fields-wide' : 'fields'}>
      {fieldsFor(specs, texts).map((spec) =>
        spec.type === 'choice' || spec.type === 'flag' ? (
          <Choice
            key={spec.key}
            label={spec.label}
            value={texts[spec.key] || NONE}
            options={[
              ...(spec.optional || !texts[spec.key]
                ? [{ id: NONE, name: spec.optional ? (spec.none ?? 'None') : 'Choose' }]
                : []),
              ...(spec.choices ?? []),
            ]}
            onChange={(id) => onChange(spec.key, id === NONE ? '' : id)}
          />
        ) : (
          <Field
            key={spec.key}
            label={spec.label}
            value={texts[spec.key] ?? ''}
            problem={problems[prefix + spec.key]}
            about={spec.about ?? (spec.type === 'date' ? 'Such as 2026-02-10.' : undefined)}
            numeric={spec.type === 'number' || spec.type === 'decimal'}
            {...(spec.type === 'lines' ||
            spec.type === 'decimals' ||
            spec.type === 'matrix' ||
            spec.key === 'points'
              ? { lines: 3 }
              : {})}
            {...(spec.unit ? { unit: spec.unit } : {})}
            onChange={(text) => onChange(spec.key, text)}
          />
        ),
      )}
    </div>
  )
}
