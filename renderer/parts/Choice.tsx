import {
  Autocomplete,
  Button,
  Input,
  Label,
  ListBox,
  ListBoxItem,
  Popover,
  SearchField,
  Select,
  SelectValue,
} from 'react-aria-components'

export interface Option<T extends string> {
  id: T
  name: string
  about?: string | undefined
}

/** What a person types to find one among more than a list shows. */
export interface Finder {
  typed: string
  onTyped: (typed: string) => void
  /** 'The first 200 of 3000.' */
  words: string
}

interface Props<T extends string> {
  label: string
  value: T
  options: readonly Option<T>[]
  onChange: (value: T) => void
  compact?: boolean
  disabled?: boolean
  finder?: Finder | undefined
}

/** One of a few, in a list that opens. */
export function Choice<T extends string>({
  label,
  value,
  options,
  onChange,
  compact,
  disabled,
  finder,
}: Props<T>) {
  const list = (
    <ListBox className="listbox" items={options}>
      {(option) => (
        <ListBoxItem className="listbox-item" id={option.id} textValue={option.name}>
          <span>{option.name}</span>
          {option.about && <small>{option.about}</small>}
        </ListBoxItem>
      )}
    </ListBox>
  )
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
        {finder ? (
          <Autocomplete inputValue={finder.typed} onInputChange={finder.onTyped}>
            <SearchField className="field choice-finder" aria-label={`Find: ${label}`} autoFocus>
              <Input placeholder="Type to find" />
            </SearchField>
            <small className="choice-finder-words">{finder.words}</small>
            {list}
          </Autocomplete>
        ) : (
          list
        )}
      </Popover>
    </Select>
  )
}
