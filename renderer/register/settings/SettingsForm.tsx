import type { ReactNode } from 'react'
import { Button } from '../../parts/Button.tsx'
import { FormFields } from '../../parts/FormFields.tsx'
import type { Texts } from '../../parts/forms.ts'
import { Problem } from '../../parts/Problem.tsx'
import { FORWARD_FIELDS, LABORATORY_FIELDS, SETTINGS_FIELDS } from './settings.model.ts'

interface Props {
  texts: Texts
  problems: Record<string, string>
  problem: string | undefined
  ready: boolean
  logo: ReactNode
  backup: ReactNode
  forwarding: ReactNode
  onChange: (key: string, text: string) => void
  onSave: () => void
}

/** What the station keeps about itself and prints on every report. */
export function SettingsForm(props: Props) {
  const { texts, problems, problem, ready, logo, backup, forwarding, onChange, onSave } = props
  return (
    <section className="sheet" aria-label="The station" data-desk="settings">
      <h2>The laboratory and its station</h2>
      <FormFields wide specs={SETTINGS_FIELDS} texts={texts} problems={problems} onChange={onChange} />
      {backup}
      {logo}
      <h3>Together with other benches</h3>
      <FormFields wide specs={LABORATORY_FIELDS} texts={texts} problems={problems} onChange={onChange} />
      <h3>Sent on to</h3>
      <FormFields wide specs={FORWARD_FIELDS} texts={texts} problems={problems} onChange={onChange} />
      {forwarding}
      <Problem words={problem} />
      <div>
        <Button right="administer" look="main" onPress={onSave} disabled={!ready}>
          Save the settings
        </Button>
      </div>
    </section>
  )
}
