import type { Bench, Channel } from '../../app/records/bench.ts'
import type { Choices } from '../client/records.ts'
import { Button } from '../parts/Button.tsx'
import { Choice } from '../parts/Choice.tsx'
import { Field } from '../parts/Field.tsx'
import { NumberField } from '../parts/NumberField.tsx'
import { Problem } from '../parts/Problem.tsx'
import { Tick } from '../parts/Tick.tsx'
import { type BenchAct, channelsToFollow, unitChoices } from './bench.model.ts'
import { JunctionEditor } from './JunctionEditor.tsx'
import { WayEditor } from './WayEditor.tsx'

export interface AdviceRow {
  resistor: string
  name: string
  serves: boolean
  words: string
}

interface Props {
  channel: Channel
  bench: Bench
  /** Kind of the thermometer that is connected. */
  kind: string | undefined
  thermometers: Choices
  resistors: Choices
  roleOf: (profile: string) => string
  problem: string | undefined
  advice: readonly AdviceRow[] | undefined
  act: (a: BenchAct) => void
  onAdvise: () => void
}

const ROLES: readonly { id: Channel['role']; name: string; about: string }[] = [
  { id: 'reference', name: 'Reference', about: 'Gives the reference temperature' },
  { id: 'under-test', name: 'Under test', about: 'Is calibrated against the reference' },
  { id: 'check', name: 'Check', about: 'Verifies the comparison' },
  { id: 'monitor', name: 'Monitor', about: 'Only recorded' },
]
const NONE = '-'

const referenceId = (reference: Channel['reference']): string =>
  reference ? (reference.kind === 'resistor' ? `r ${reference.resistor}` : `c ${reference.channel}`) : NONE

/** One channel: what hangs on which input, and how it is measured. */
export function ChannelEditor({
  channel,
  bench,
  kind,
  thermometers,
  resistors,
  roleOf,
  problem,
  advice,
  act,
  onAdvise,
}: Props) {
  const set = (part: Partial<Channel>) => act({ do: 'channel', id: channel.id, part })
  const meters = bench.instruments.filter((i) => ['ratio-bridge', 'meter'].includes(roleOf(i.profile)))
  const scanners = bench.instruments.filter((i) => roleOf(i.profile) === 'scanner')
  const units = unitChoices(kind, channel.unit)
  const others = channelsToFollow(bench, channel.id)
  return (
    <section className="sheet" aria-label={`Channel ${channel.name}`}>
      <div className="row row-apart">
        <h2>{channel.name}</h2>
        <Button look="quiet" onPress={() => act({ do: 'remove-channel', id: channel.id })}>
          Remove the channel
        </Button>
      </div>
      <Problem words={problem} />
      <div className="fields">
        <Field label="Name" value={channel.name} onChange={(name) => set({ name })} />
        <Choice label="Role" value={channel.role} options={ROLES} onChange={(role) => set({ role })} />
        <Choice
          label="Thermometer"
          value={channel.thermometer ?? NONE}
          options={[
            { id: NONE, name: 'None' },
            ...thermometers.lines.map((t) => ({ id: t.id, name: t.name, about: `${t.type} ${t.serial}` })),
          ]}
          finder={thermometers.finder}
          onChange={(id) =>
            id === NONE
              ? act({ do: 'unset-channel', id: channel.id, field: 'thermometer' })
              : set({ thermometer: id })
          }
        />
        <div className="field-wide">
          <Choice
            label="Denominator of the ratio (Rs)"
            value={referenceId(channel.reference)}
            options={[
              { id: NONE, name: 'None', about: 'For a meter that reads ohms, volts or degrees' },
              ...resistors.lines.map((r) => ({ id: `r ${r.id}`, name: r.name })),
              ...others.map((c) => ({
                id: `c ${c.id}`,
                name: c.name,
                about: 'The thermometer of this channel takes the place of a resistor',
              })),
            ]}
            finder={resistors.finder}
            onChange={(id) =>
              id === NONE
                ? act({ do: 'unset-channel', id: channel.id, field: 'reference' })
                : set({
                    reference: id.startsWith('r ')
                      ? { kind: 'resistor', resistor: id.slice(2) }
                      : { kind: 'channel', channel: id.slice(2) },
                  })
            }
          />
        </div>
        <NumberField
          label="Measuring current"
          unit="mA"
          units={{ mA: 1, A: 1000, '\u00b5A': 1e-3 }}
          value={channel.currentMa}
          onChange={(v) => v && set({ currentMa: v })}
        />
        {units.length > 0 && (
          <Choice
            label="Shown in"
            value={channel.unit ?? 'degC'}
            options={units}
            onChange={(unit) =>
              unit === 'degC' ? act({ do: 'unset-channel', id: channel.id, field: 'unit' }) : set({ unit })
            }
          />
        )}
        {(kind === 'thermocouple' || channel.junction) && (
          <JunctionEditor
            junction={channel.junction}
            others={others}
            onChange={(junction) =>
              junction ? set({ junction }) : act({ do: 'unset-channel', id: channel.id, field: 'junction' })
            }
          />
        )}
      </div>
      <WayEditor bench={bench} channel={channel} meters={meters} scanners={scanners} onChange={set} />
      <div className="row">
        <Button onPress={onAdvise} disabled={!channel.thermometer}>
          Which resistor suits?
        </Button>
        <Tick on={channel.enabled} onChange={(enabled) => set({ enabled })}>
          Is measured
        </Tick>
      </div>
      {advice && (
        <ul className="found" aria-label="Advice on the reference resistor">
          {advice.map((row) => (
            <li key={row.resistor}>
              <Button
                disabled={!row.serves}
                onPress={() => set({ reference: { kind: 'resistor', resistor: row.resistor } })}
              >
                {`Take ${row.name}`}
              </Button>
              <span>{row.words}</span>
            </li>
          ))}
        </ul>
      )}
      <details>
        <summary>Timing and immersion</summary>
        <div className="fields">
          <NumberField
            label="Wait after switching"
            unit="ms"
            units={{ ms: 1, s: 1000 }}
            value={channel.settleMs}
            onChange={(v) => v !== undefined && set({ settleMs: v })}
          />
          <NumberField
            label="Readings left out after switching"
            value={channel.discard}
            onChange={(v) => v !== undefined && set({ discard: Math.round(v) })}
          />
          <NumberField
            label="Readings per visit"
            value={channel.readings}
            onChange={(v) => v && set({ readings: Math.round(v) })}
          />
          <NumberField
            label="Averaged by the instrument"
            value={channel.average}
            onChange={(v) => v && set({ average: Math.round(v) })}
          />
          <NumberField
            label="Keep-warm current"
            unit="mA"
            optional
            value={channel.keepWarmMa}
            onChange={(v) =>
              v === undefined
                ? act({ do: 'unset-channel', id: channel.id, field: 'keepWarmMa' })
                : set({ keepWarmMa: v })
            }
          />
          <NumberField
            label="Immersion"
            unit="mm"
            units={{ mm: 1, cm: 10 }}
            optional
            value={channel.immersionMm}
            onChange={(v) =>
              v === undefined
                ? act({ do: 'unset-channel', id: channel.id, field: 'immersionMm' })
                : set({ immersionMm: v })
            }
          />
        </div>
      </details>
    </section>
  )
}
