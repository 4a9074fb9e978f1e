import { ToggleButton, ToggleButtonGroup } from 'react-aria-components'

interface Props<T extends string> {
  label: string
  value: T
  options: readonly { id: T; name: string }[]
  onChange: (value: T) => void
}

/** One of a few, all in sight. */
export function OneOf<T extends string>({ label, value, options, onChange }: Props<T>) {
  return (
    <ToggleButtonGroup
      className="one-of"
      aria-label={label}
      selectionMode="single"
      disallowEmptySelection
      selectedKeys={[value]}
      onSelectionChange={(keys) => {
        const [key] = keys
        if (key !== undefined) onChange(String(key) as T)
      }}
    >
      {options.map((option) => (
        <ToggleButton key={option.id} id={option.id} className="one-of-item">
          {option.name}
        </ToggleButton>
      ))}
    </ToggleButtonGroup>
  )
}
