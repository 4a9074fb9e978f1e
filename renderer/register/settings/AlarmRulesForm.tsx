import type { AlarmRules } from '../../../app/contract/settings.ts'
import { Button } from '../../parts/Button.tsx'
import { Choice } from '../../parts/Choice.tsx'
import { Field } from '../../parts/Field.tsx'
import { NumberField } from '../../parts/NumberField.tsx'
import { Problem } from '../../parts/Problem.tsx'
import { Scroll } from '../../parts/Scroll.tsx'
import { Tick } from '../../parts/Tick.tsx'
import { ALARM_OPTIONS, KIND_WORDS, type RulesAct, ruleProblem } from './settings.model.ts'

interface Props {
  rules: AlarmRules
  subjects: readonly { id: string; name: string }[]
  changed: boolean
  problem: string | undefined
  act: (a: RulesAct) => void
  onSave: () => void
}

const ALL = '-'
const SEVERITIES = [
  { id: 'notice', name: 'Notice' },
  { id: 'warning', name: 'Warning' },
  { id: 'alarm', name: 'Alarm' },
] as const

const inUnit = (value: number | undefined, scale: number): number | undefined =>
  value === undefined ? undefined : Number((value / scale).toPrecision(12))

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
            {rules.rules.map((rule, i) => {
              const words = KIND_WORDS[rule.kind]
              const scale = words.scale ?? 1
              const missing = ruleProblem(rule)
              const limit = (side: 'above' | 'below') =>
                words[side] === undefined ? null : (
                  <span className="rule-limit">
                    <span>
                      <span aria-hidden="true">{words[side].toLowerCase()}</span>
                      {rule[side] === undefined && words.usual !== undefined && (
                        <small>{` (usually ${words.usual} ${words.unit})`}</small>
                      )}
                    </span>
                    <NumberField
                      compact
                      optional
                      label={`${words[side]}, rule ${i + 1}`}
                      unit={words.unit}
                      {...(words.units ? { units: words.units } : {})}
                      value={inUnit(rule[side], scale)}
                      onChange={(value) =>
                        act({
                          do: 'limit',
                          id: rule.id,
                          side,
                          value: value === undefined ? value : value * scale,
                        })
                      }
                    />
                  </span>
                )
              return (
                <tr key={rule.id}>
                  <td className="left">
                    <Choice
                      compact
                      label={`When, rule ${i + 1}`}
                      value={rule.kind}
                      options={ALARM_OPTIONS}
                      onChange={(kind) => act({ do: 'rule', id: rule.id, part: { kind } })}
                    />
                    <p className="field-about">{words.todo}</p>
                    {missing && <p className="cell-problem">{missing}</p>}
                  </td>
                  <td className="left">
                    <Choice
                      compact
                      label={`Where, rule ${i + 1}`}
                      value={rule.subject ?? ALL}
                      options={[{ id: ALL, name: 'Everywhere' }, ...subjects]}
                      onChange={(id) =>
                        act({ do: 'subject', id: rule.id, subject: id === ALL ? undefined : id })
                      }
                    />
                  </td>
                  <td>{limit('above')}</td>
                  <td>{limit('below')}</td>
                  <td className="left">
                    <Choice
                      compact
                      label={`Severity, rule ${i + 1}`}
                      value={rule.severity}
                      options={SEVERITIES}
                      onChange={(severity) => act({ do: 'rule', id: rule.id, part: { severity } })}
                    />
                  </td>
                  <td className="left">
                    <Tick
                      on={rule.enabled}
                      label={`Rule ${i + 1} is on`}
                      onChange={(enabled) => act({ do: 'rule', id: rule.id, part: { enabled } })}
                    >
                      {''}
                    </Tick>
                  </td>
                  <td>
                    <Button
                      look="quiet"
                      label={`Remove rule ${i + 1}`}
                      onPress={() => act({ do: 'remove', id: rule.id })}
                    >
                      ×
                    </Button>
                  </td>
                </tr>
              )
            })}
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
      {email && (
        <div className="fields">
          <Field
            label="Mail server"
            value={email.host}
            onChange={(host) => act({ do: 'set', part: { email: { ...email, host } } })}
          />
          <NumberField
            label="Port"
            value={email.port}
            onChange={(port) =>
              port && act({ do: 'set', part: { email: { ...email, port: Math.round(port) } } })
            }
          />
          <Field
            label="From"
            value={email.from}
            onChange={(from) => act({ do: 'set', part: { email: { ...email, from } } })}
          />
          <Field
            label="To"
            lines={2}
            value={email.to.join('\n')}
            about="One address in each line."
            onChange={(to) => act({ do: 'set', part: { email: { ...email, to: to.split('\n') } } })}
          />
          <Field
            label="User"
            value={email.user ?? ''}
            about="Password: from STILLPOINT_SMTP_PASSWORD or the desktop's Station menu."
            onChange={(user) =>
              act({ do: 'set', part: { email: { ...email, user: user === '' ? null : user } } })
            }
          />
          <Tick
            on={email.withoutTls}
            onChange={(withoutTls) => act({ do: 'set', part: { email: { ...email, withoutTls } } })}
          >
            Send unencrypted where the server cannot encrypt
          </Tick>
        </div>
      )}
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
