import { FieldError, Input, Label, Text, TextArea, TextField } from 'react-aria-components'

interface Props {
  label: string
  value: string
  onChange: (value: string) => void
  /** What belongs here, or what the number means. */
  about?: string | undefined
  problem?: string | undefined
  unit?: string
  lines?: number
  type?: 'text' | 'password' | 'search'
  disabled?: boolean
  compact?: boolean
  numeric?: boolean
  onEnter?: () => void
  onPaste?: (text: string) => boolean
}

/** A labelled line of text. Numbers are typed as text too: comma or point, with or without their unit. */
export function Field(props: Props) {
  const {
    label,
    value,
    onChange,
    about,
    problem,
    unit,
    lines,
    type = 'text',
    disabled,
    compact,
    numeric,
  } = props
  return (
    <TextField
      className={`field${compact ? ' field-compact' : ''}`}
      value={value}
      onChange={onChange}
      isDisabled={disabled ?? false}
      isInvalid={problem !== undefined}
      {...(compact ? { 'aria-label': label } : {})}
    >
      {!compact && <Label>{label}</Label>}
      <span className="field-box">
        {lines ? (
          <TextArea rows={lines} />
        ) : (
          <Input
            type={type}
            className={numeric ? 'numeric' : ''}
            inputMode={numeric ? 'decimal' : 'text'}
            autoComplete="off"
            spellCheck={false}
            onKeyDown={(event) => event.key === 'Enter' && props.onEnter?.()}
            onPaste={(event) => {
              if (props.onPaste?.(event.clipboardData.getData('text/plain'))) event.preventDefault()
            }}
          />
        )}
        {unit && <span className="field-unit">{unit}</span>}
      </span>
      {about && (
        <Text slot="description" className="field-about">
          {about}
        </Text>
      )}
      <FieldError className="field-problem">{problem}</FieldError>
    </TextField>
  )
}
