import type { Bench, Channel } from '../../app/records/bench.ts'
import type { Choices } from '../client/records.ts'
import { NEW_RECORD } from '../desk/wanted-record.model.ts'
import { Button } from '../parts/Button.tsx'
import { Choice } from '../parts/Choice.tsx'
import { Field } from '../parts/Field.tsx'
import { NumberField } from '../parts/NumberField.tsx'
import { Problem } from '../parts/Problem.tsx'
import { Tick } from '../parts/Tick.tsx'
import { type BenchAct, channelsToFollow, unitChoices } from './bench.model.ts'
import { ChannelTiming } from './ChannelTiming.tsx'
import { DenominatorChoice } from './DenominatorChoice.tsx'
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
  /** Measuring ranges of its instrument. */
  ranges: readonly { name: string; words: string }[]
  problem: string | undefined
  advice: readonly AdviceRow[] | undefined
  act: (a: BenchAct) => void
  onAdvise: () => void
  /** Enters a record that a list does not have; undefined for who may not. */
  onNew: ((shelf: 'thermometers' | 'resistors') => void) | undefined
}

const ROLES: readonly { id: Channel['role']; name: string; about: string }[] = [
  { id: 'reference', name: 'Reference', about: 'Gives the reference temperature' },
  { id: 'under-test', name: 'Under test', about: 'Is calibrated against the reference' },
  { id: 'check', name: 'Check', about: 'Verifies the comparison' },
  { id: 'monitor', name: 'Monitor', about: 'Only recorded' },
]
const NONE = '-'

/** One channel: what hangs on which input, and how it is measured. */
export function ChannelEditor({
  channel,
  bench,
  kind,
  thermometers,
  resistors,
  roleOf,
  ranges,
  problem,
  advice,
  act,
  onAdvise,
  onNew,
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
            ...(onNew ? [{ id: NEW_RECORD, name: 'New thermometer', about: 'Entered in the Register' }] : []),
          ]}
          finder={thermometers.finder}
          onChange={(id) => {
            if (id === NEW_RECORD) onNew?.('thermometers')
            else if (id === NONE) act({ do: 'unset-channel', id: channel.id, field: 'thermometer' })
            else set({ thermometer: id })
          }}
        />
        <DenominatorChoice
          channel={channel}
          resistors={resistors}
          others={others}
          act={act}
          onNew={onNew && (() => onNew('resistors'))}
        />
        <NumberField
          label="Measuring current"
          unit="mA"
          units={{ mA: 1, A: 1000, '\u00b5A': 1e-3 }}
          value={channel.currentMa}
          onChange={(v) => v && set({ currentMa: v })}
        />
        {(ranges.length > 0 || channel.range !== undefined) && (
          <Choice
            label="Measuring range"
            value={channel.range ?? NONE}
            options={[
              { id: NONE, name: 'As the instrument is' },
              ...ranges.map(({ name, words }) => ({ id: name, name, about: words })),
            ]}
            onChange={(range) =>
              range === NONE ? act({ do: 'unset-channel', id: channel.id, field: 'range' }) : set({ range })
            }
          />
        )}
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
      <ChannelTiming channel={channel} act={act} />
    </section>
  )
}
