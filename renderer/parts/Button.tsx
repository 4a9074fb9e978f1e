import type { ReactNode } from 'react'
import { Button as AriaButton } from 'react-aria-components'
import { useInGrid } from './in-grid.ts'

interface Props {
  children: ReactNode
  onPress: () => void
  /** main: the one thing to do here. danger: heats, stops or cannot be taken back. quiet: among others. */
  look?: 'main' | 'plain' | 'danger' | 'quiet'
  disabled?: boolean | undefined
  pressed?: boolean
  label?: string
  autoFocus?: boolean
}

export function Button({ children, onPress, look = 'plain', disabled, pressed, label, autoFocus }: Props) {
  const inGrid = useInGrid()
  return (
    <AriaButton
      className={`button button-${look}${pressed ? ' is-pressed' : ''}`}
      onPress={onPress}
      isDisabled={disabled ?? false}
      excludeFromTabOrder={inGrid}
      {...(label === undefined ? {} : { 'aria-label': label })}
      {...(pressed === undefined ? {} : { 'aria-pressed': pressed })}
      {...(autoFocus ? { autoFocus } : {})}
    >
      {children}
    </AriaButton>
  )
}
