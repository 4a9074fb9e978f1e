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
  /** Zero means that nothing is known yet: the field is then empty, and asks. */
  zeroIsOpen?: boolean
  compact?: boolean
}

/** A number typed as people type it. What is half typed stays in the field and changes nothing. */
export function NumberField({
  label,
  value,
  onChange,
  unit,
  units = {},
  about,
  optional,
  zeroIsOpen,
  compact,
}: Props) {
  const open = zeroIsOpen === true && value === 0
  const written = value === undefined || open ? '' : String(value)
  const [text, setText] = useState(written)
  const read = readNumber(text, units)
  useEffect(() => {
    // Undo and a change from elsewhere show; the same number typed differently stays as typed.
    setText((old) => (readNumber(old, units) === value || (open && old.trim() === '') ? old : written))
  }, [value, units, open, written])
  const empty = text.trim() === ''
  const problem = empty
    ? optional || zeroIsOpen
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
          else if (zeroIsOpen) onChange(0)
          return
        }
        const number = readNumber(next, units)
        if (number !== undefined) onChange(number)
      }}
    />
  )
}
