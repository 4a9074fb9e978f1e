import type { Plan } from '../../app/records/plan.ts'
import { Choice } from '../parts/Choice.tsx'
import { Field } from '../parts/Field.tsx'
import { Tick } from '../parts/Tick.tsx'
import { ORDER_WORDS, type PlanAct, type PlanDraft, TIMEOUT_WORDS } from './plan.model.ts'
import { PRESETS, presetOf, RULE_FIELDS, type RuleField, readRule, ruleWords } from './rule.model.ts'

interface Props {
  draft: PlanDraft
  problems: Record<string, string>
  act: (a: PlanAct) => void
}

const OWN = 'own'

/** When the bath counts as settled, and how a point is read. */
export function Rules({ draft, problems, act }: Props) {
  const preset = presetOf(draft.rule)
  const own = readRule(draft.rule)
  return (
    <section className="sheet rules-of-night" aria-label="Settling and reading">
      <h2>Settled means</h2>
      <div className="presets" role="radiogroup" aria-label="Settling rule">
        {PRESETS.map(({ id, name, about, rule }) => (
          <label key={id} className={`preset${preset === id ? ' is-chosen' : ''}`}>
            <input
              type="radio"
              name="preset"
              checked={preset === id}
              onChange={() => act({ do: 'preset', id })}
            />
            <span>
              <strong>{name}</strong>
              <small>{about}</small>
              <small className="preset-rule">{ruleWords(rule)}</small>
            </span>
          </label>
        ))}
        {preset === undefined && (
          <label className="preset is-chosen">
            <input type="radio" name="preset" checked readOnly value={OWN} />
            <span>
              <strong>Your own</strong>
              <small className="preset-rule">
                {own ? ruleWords(own) : 'One of the numbers below is not a number yet.'}
              </small>
            </span>
          </label>
        )}
      </div>
      <details open={preset === undefined && own === undefined}>
        <summary>The numbers behind it</summary>
        <div className="fields">
          {(Object.keys(RULE_FIELDS) as RuleField[]).map((field) => (
            <Field
              key={field}
              numeric
              label={RULE_FIELDS[field].name}
              unit={RULE_FIELDS[field].unit}
              value={draft.rule[field]}
              about={RULE_FIELDS[field].about}
              problem={problems[field]}
              onChange={(text) => act({ do: 'rule', field, text })}
            />
          ))}
        </div>
      </details>
      <h2>Reading a point</h2>
      <div className="fields">
        <Choice
          label="Order of readings"
          value={draft.order}
          options={(Object.keys(ORDER_WORDS) as Plan['order'][]).map((id) => ({ id, ...ORDER_WORDS[id] }))}
          onChange={(order) => act({ do: 'set', part: { order } })}
        />
        <Field
          label="Times through"
          numeric
          value={draft.cycles}
          problem={problems.cycles}
          onChange={(cycles) => act({ do: 'set', part: { cycles } })}
        />
        <Field
          label="Wait at most"
          numeric
          value={draft.maxWait}
          problem={problems.maxWait}
          onChange={(maxWait) => act({ do: 'set', part: { maxWait } })}
          about="Per setpoint, such as 4 h or 90 min."
        />
        <Choice
          label="If it never settles"
          value={draft.onTimeout}
          options={(Object.keys(TIMEOUT_WORDS) as Plan['onTimeout'][]).map((id) => ({
            id,
            name: TIMEOUT_WORDS[id],
          }))}
          onChange={(onTimeout) => act({ do: 'set', part: { onTimeout } })}
        />
        <Field
          label="Rate of change"
          numeric
          unit="K/min"
          value={draft.ramp}
          problem={problems.ramp}
          onChange={(ramp) => act({ do: 'set', part: { ramp } })}
          about="Empty: in one step."
        />
        <Choice
          label="After the last point"
          value={draft.atEnd}
          options={[
            { id: 'safe', name: 'Bath to its safe setpoint' },
            { id: 'stay', name: 'Bath stays where it is' },
          ]}
          onChange={(atEnd) => act({ do: 'set', part: { atEnd } })}
        />
      </div>
      <Tick on={draft.wtpCheck} onChange={(wtpCheck) => act({ do: 'set', part: { wtpCheck } })}>
        Read R at the water triple point before and after
      </Tick>
      <Tick
        on={draft.insulationCheck}
        onChange={(insulationCheck) => act({ do: 'set', part: { insulationCheck } })}
      >
        Measure the insulation of the thermometers when the setpoints are through
      </Tick>
    </section>
  )
}
