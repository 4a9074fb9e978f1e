import { Button, Label, ListBox, ListBoxItem, Popover, Select, SelectValue } from 'react-aria-components'

export interface Option<T extends string> {
  id: T
  name: string
  about?: string | undefined
}

interface Props<T extends string> {
  label: string
  value: T
  options: readonly Option<T>[]
  onChange: (value: T) => void
  compact?: boolean
  disabled?: boolean
}

/** One of a few, in a list that opens. */
export function Choice<T extends string>({ label, value, options, onChange, compact, disabled }: Props<T>) {
  return (
    <Select
      className={`field choice${compact ? ' field-compact' : ''}`}
      selectedKey={value}
      onSelectionChange={(key) => key !== null && onChange(String(key) as T)}
      isDisabled={disabled ?? false}
      {...(compact ? { 'aria-label': label } : {})}
    >
      {!compact && <Label>{label}</Label>}
      <Button className="choice-button">
        <SelectValue className="choice-value">
          {({ selectedText }) => selectedText ?? options.find((o) => o.id === value)?.name ?? '\u2013'}
        </SelectValue>
        <span aria-hidden="true" className="choice-arrow" />
      </Button>
      <Popover className="popover">
        <ListBox className="listbox" items={options}>
          {(option) => (
            <ListBoxItem className="listbox-item" id={option.id} textValue={option.name}>
              <span>{option.name}</span>
              {option.about && <small>{option.about}</small>}
            </ListBoxItem>
          )}
        </ListBox>
      </Popover>
    </Select>
  )
}
