import { Choice } from '../parts/Choice.tsx'
import { Field } from '../parts/Field.tsx'
import type { CustomerDraft } from './order.model.ts'

interface Props {
  customer: CustomerDraft
  problems: Record<string, string>
  onChange: (part: Partial<CustomerDraft>) => void
}

export const LANGUAGE_NAMES = [
  { id: 'en', name: 'English' },
  { id: 'de', name: 'German' },
  { id: 'fr', name: 'French' },
  { id: 'es', name: 'Spanish' },
] as const

/** Choices have a name of their own for what is left to the language. */
const AS_LANGUAGE = 'language'

/** A customer, new or changed: what its certificates and parcels need. */
export function CustomerFields({ customer, problems, onChange }: Props) {
  return (
    <fieldset className="sheet">
      <legend>{customer.id === null ? 'New customer' : 'The customer'}</legend>
      <div className="fields">
        <Field
          label="Name of the customer"
          value={customer.name}
          problem={problems.customer}
          onChange={(name) => onChange({ name })}
        />
        <Field
          label="Address of the customer"
          lines={2}
          value={customer.address}
          about="Certificates are delivered only where there is one."
          onChange={(address) => onChange({ address })}
        />
        <Field
          label="Contact"
          value={customer.contact}
          about="May stay empty."
          onChange={(contact) => onChange({ contact })}
        />
        <Field
          label="E-mail for certificates"
          value={customer.email ?? ''}
          problem={problems.email}
          about="May stay empty."
          onChange={(email) => onChange({ email })}
        />
        <Choice
          label="Language of the certificate"
          value={customer.language}
          options={LANGUAGE_NAMES}
          onChange={(language) => onChange({ language })}
        />
        <Choice
          label="Decimal sign of the certificate"
          value={customer.decimalSign || AS_LANGUAGE}
          options={[
            { id: AS_LANGUAGE, name: 'As the language has it' },
            { id: '.', name: 'Point' },
            { id: ',', name: 'Comma' },
          ]}
          onChange={(sign) => onChange({ decimalSign: sign === AS_LANGUAGE ? '' : (sign as '.' | ',') })}
        />
      </div>
    </fieldset>
  )
}
