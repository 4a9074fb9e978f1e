import type { ReactNode } from 'react'
import { Checkbox } from 'react-aria-components'

interface Props {
  children: ReactNode
  on: boolean
  onChange: (on: boolean) => void
  disabled?: boolean
  label?: string
}

/** A box to tick. */
export function Tick({ children, on, onChange, disabled, label }: Props) {
  return (
    <Checkbox
      className="tick"
      isSelected={on}
      onChange={onChange}
      isDisabled={disabled ?? false}
      {...(label ? { 'aria-label': label } : {})}
    >
      <span className="tick-box" aria-hidden="true">
        <svg viewBox="0 0 16 16" aria-hidden="true">
          <path d="M3 8.5l3.2 3.2L13 5" />
        </svg>
      </span>
      {children}
    </Checkbox>
  )
}
