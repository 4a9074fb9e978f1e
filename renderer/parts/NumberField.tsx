import { useEffect, useState } from 'react'
import { readNumber } from '../text/numbers.ts'
import { Field } from './Field.tsx'

interface Props {
  label: string
  value: number | undefined
  onChange: (value: number | undefined) => void
  unit?: string
  units?: Readonly<Record<string, number>>
  about?: string
  optional?: boolean
  compact?: boolean
}

/** A number typed as people type it. What is half typed stays in the field and changes nothing. */
export function NumberField({ label, value, onChange, unit, units = {}, about, optional, compact }: Props) {
  const [text, setText] = useState(value === undefined ? '' : String(value))
  const read = readNumber(text, units)
  useEffect(() => {
    // Undo and a change from elsewhere show; the same number typed differently stays as typed.
    setText((old) => (readNumber(old, units) === value ? old : value === undefined ? '' : String(value)))
  }, [value, units])
  const empty = text.trim() === ''
  const problem = empty
    ? optional
      ? undefined
      : 'A number is needed here'
    : read === undefined
      ? `Not a number${unit ? ` of ${unit}` : ''}`
      : undefined
  return (
    <Field
      label={label}
      numeric
      value={text}
      about={about}
      problem={problem}
      compact={compact ?? false}
      {...(unit ? { unit } : {})}
      onChange={(next) => {
        setText(next)
        if (next.trim() === '') {
          if (optional) onChange(undefined)
          return
        }
        const number = readNumber(next, units)
        if (number !== undefined) onChange(number)
      }}
    />
  )
}
