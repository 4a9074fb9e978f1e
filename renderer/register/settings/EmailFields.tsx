import type { AlarmRules } from '../../../app/contract/settings.ts'
import { Field } from '../../parts/Field.tsx'
import { NumberField } from '../../parts/NumberField.tsx'
import { Tick } from '../../parts/Tick.tsx'

type Email = NonNullable<AlarmRules['email']>

/** Where alarms are mailed from, and to whom. */
export function EmailFields({ email, onChange }: { email: Email; onChange: (email: Email) => void }) {
  return (
    <div className="fields">
      <Field label="Mail server" value={email.host} onChange={(host) => onChange({ ...email, host })} />
      <NumberField
        label="Port"
        value={email.port}
        onChange={(port) => port && onChange({ ...email, port: Math.round(port) })}
      />
      <Field label="From" value={email.from} onChange={(from) => onChange({ ...email, from })} />
      <Field
        label="To"
        lines={2}
        value={email.to.join('\n')}
        about="One address in each line."
        onChange={(to) => onChange({ ...email, to: to.split('\n') })}
      />
      <Field
        label="User"
        value={email.user ?? ''}
        about="Password: from STILLPOINT_SMTP_PASSWORD or the desktop's Station menu."
        onChange={(user) => onChange({ ...email, user: user === '' ? null : user })}
      />
      <Tick on={email.withoutTls} onChange={(withoutTls) => onChange({ ...email, withoutTls })}>
        Send unencrypted where the server cannot encrypt
      </Tick>
    </div>
  )
}
