import type { Channel } from '../../app/records/bench.ts'
import type { Choices } from '../client/records.ts'
import { NEW_RECORD } from '../desk/wanted-record.model.ts'
import { Choice } from '../parts/Choice.tsx'
import type { BenchAct } from './bench.model.ts'

interface Props {
  channel: Channel
  resistors: Choices
  /** Channels whose thermometer may take a resistor's place. */
  others: readonly Channel[]
  act: (a: BenchAct) => void
  onNew: (() => void) | undefined
}

const NONE = '-'

const referenceId = (reference: Channel['reference']): string =>
  reference ? (reference.kind === 'resistor' ? `r ${reference.resistor}` : `c ${reference.channel}`) : NONE

/** What the bridge divides by: a resistor, another channel's thermometer, or nothing. */
export function DenominatorChoice({ channel, resistors, others, act, onNew }: Props) {
  const set = (part: Partial<Channel>) => act({ do: 'channel', id: channel.id, part })
  return (
    <div className="field-wide">
      <Choice
        label="Denominator of the ratio (Rs)"
        value={referenceId(channel.reference)}
        options={[
          { id: NONE, name: 'None', about: 'For a meter that reads ohms, volts or degrees' },
          ...resistors.lines.map((r) => ({ id: `r ${r.id}`, name: r.name })),
          ...(onNew ? [{ id: NEW_RECORD, name: 'New resistor', about: 'Entered in the Register' }] : []),
          ...others.map((c) => ({
            id: `c ${c.id}`,
            name: c.name,
            about: 'The thermometer of this channel takes the place of a resistor',
          })),
        ]}
        finder={resistors.finder}
        onChange={(id) => {
          if (id === NEW_RECORD) onNew?.()
          else if (id === NONE) act({ do: 'unset-channel', id: channel.id, field: 'reference' })
          else
            set({
              reference: id.startsWith('r ')
                ? { kind: 'resistor', resistor: id.slice(2) }
                : { kind: 'channel', channel: id.slice(2) },
            })
        }}
      />
    </div>
  )
}
