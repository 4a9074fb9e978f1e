import type { ReactNode } from 'react'
import { Button as AriaButton } from 'react-aria-components'
import type { Right } from '../../app/records/person.ts'
import { useMay } from '../page/person.ts'
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
  /** Right that the act needs; who has it not does not see the button. */
  right?: Right
}

export function Button(props: Props) {
  const { children, onPress, look = 'plain', disabled, pressed, label, autoFocus, right } = props
  const inGrid = useInGrid()
  const may = useMay(right)
  if (!may) return null
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
