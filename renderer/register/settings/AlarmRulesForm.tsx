import type { AlarmRules } from '../../../app/contract/settings.ts'
import { Button } from '../../parts/Button.tsx'
import { Field } from '../../parts/Field.tsx'
import { Problem } from '../../parts/Problem.tsx'
import { Scroll } from '../../parts/Scroll.tsx'
import { Tick } from '../../parts/Tick.tsx'
import { AlarmRuleRow } from './AlarmRuleRow.tsx'
import { EmailFields } from './EmailFields.tsx'
import type { RulesAct } from './settings.model.ts'

interface Props {
  rules: AlarmRules
  subjects: readonly { id: string; name: string }[]
  changed: boolean
  problem: string | undefined
  act: (a: RulesAct) => void
  onSave: () => void
}

/** What raises an alarm, and who is told. */
export function AlarmRulesForm({ rules, subjects, changed, problem, act, onSave }: Props) {
  const { email, webhook } = rules
  return (
    <section className="sheet" aria-label="Alarms" data-desk="alarms">
      <h2>Alarms</h2>
      <Scroll label="Alarm rules">
        <table className="table rules">
          <thead>
            <tr>
              <th scope="col" className="left">
                When
              </th>
              <th scope="col" className="left">
                Where
              </th>
              <th scope="colgroup" colSpan={2}>
                Limits
              </th>
              <th scope="col" className="left">
                Severity
              </th>
              <th scope="col" className="left">
                On
              </th>
              <th scope="col">
                <span className="unseen">Acts</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {rules.rules.map((rule, i) => (
              <AlarmRuleRow key={rule.id} rule={rule} n={i + 1} subjects={subjects} act={act} />
            ))}
          </tbody>
        </table>
      </Scroll>
      <div>
        <Button onPress={() => act({ do: 'add' })}>Add a rule</Button>
      </div>
      <div className="row">
        <Tick on={rules.sound} onChange={(sound) => act({ do: 'set', part: { sound } })}>
          Sound at the station
        </Tick>
        <Tick
          on={email !== null}
          onChange={(on) =>
            act({
              do: 'set',
              part: {
                email: on ? { host: '', port: 587, from: '', to: [], user: null, withoutTls: false } : null,
              },
            })
          }
        >
          Tell by e-mail
        </Tick>
        <Tick
          on={webhook !== null}
          onChange={(on) => act({ do: 'set', part: { webhook: on ? { url: '' } : null } })}
        >
          Webhook
        </Tick>
      </div>
      {email && <EmailFields email={email} onChange={(next) => act({ do: 'set', part: { email: next } })} />}
      {webhook && (
        <Field
          label="Address of the webhook"
          value={webhook.url}
          about="Without a key in it: that comes from STILLPOINT_WEBHOOK_TOKEN."
          onChange={(url) => act({ do: 'set', part: { webhook: { url } } })}
        />
      )}
      <Problem words={problem} />
      <div>
        <Button right="administer" look="main" onPress={onSave} disabled={!changed}>
          Save the rules
        </Button>
      </div>
    </section>
  )
}
