import type { Channel } from '../../app/records/bench.ts'
import { Choice } from '../parts/Choice.tsx'
import { NumberField } from '../parts/NumberField.tsx'
import { CELSIUS_UNITS } from '../text/numbers.ts'
import { type Junction, type JunctionKind, junctionKind, junctionOf } from './bench.model.ts'

interface Props {
  junction: Junction | undefined
  /** Channels that can measure it. */
  others: readonly Channel[]
  onChange: (junction: Junction | undefined) => void
}

const UNSAID = '-'
const KINDS: Record<JunctionKind, { name: string; about: string }> = {
  ice: { name: 'Ice point', about: 'In melting ice, at 0 °C' },
  fixed: { name: 'At a fixed temperature', about: 'In a block or oven that holds it' },
  channel: { name: 'Measured by another channel', about: 'A thermometer sits at the junction' },
  compensated: { name: 'Compensated', about: 'The meter, or a unit before it, already reads as at 0 °C' },
}
const UNCERTAIN_UNITS = { mK: 1, K: 1000 }

/** How the reference junction of a thermocouple is kept, and how well that is known. */
export function JunctionEditor({ junction, others, onChange }: Props) {
  const kind = junction ? junctionKind(junction) : UNSAID
  return (
    <>
      <Choice
        label="Reference junction"
        value={kind}
        options={[
          { id: UNSAID, name: 'Not said' },
          ...(Object.keys(KINDS) as JunctionKind[])
            .filter((id) => id !== 'channel' || others.length > 0)
            .map((id) => ({ id, ...KINDS[id] })),
        ]}
        onChange={(id) =>
          onChange(id === UNSAID ? undefined : junctionOf(id as JunctionKind, junction, others[0]?.id))
        }
      />
      {junction?.kind === 'fixed' && junction.celsius !== 0 && (
        <NumberField
          label="Junction temperature"
          unit="°C"
          units={CELSIUS_UNITS}
          value={junction.celsius}
          onChange={(celsius) => celsius !== undefined && onChange({ ...junction, celsius })}
        />
      )}
      {junction?.kind === 'channel' && (
        <Choice
          label="Measured by"
          value={junction.channel}
          options={others.map((c) => ({ id: c.id, name: c.name }))}
          onChange={(channel) => onChange({ ...junction, channel })}
        />
      )}
      {junction && (
        <NumberField
          label="Junction, standard uncertainty"
          unit="mK"
          units={UNCERTAIN_UNITS}
          optional
          value={junction.uK === undefined ? undefined : Number((junction.uK * 1e3).toPrecision(12))}
          onChange={(mK) => {
            const { uK: _old, ...rest } = junction
            onChange(mK === undefined ? rest : { ...rest, uK: mK / 1e3 })
          }}
          about={
            junction.kind === 'channel'
              ? 'That channel’s own, and how far its thermometer is from the junction.'
              : 'Goes into the budget of this channel.'
          }
        />
      )}
    </>
  )
}
