import type { Channel } from '../../app/records/bench.ts'
import { NumberField } from '../parts/NumberField.tsx'
import type { BenchAct } from './bench.model.ts'

interface Props {
  channel: Channel
  act: (a: BenchAct) => void
}

/** How long a channel waits and how often it is read, and how deep its thermometer hangs. */
export function ChannelTiming({ channel, act }: Props) {
  const set = (part: Partial<Channel>) => act({ do: 'channel', id: channel.id, part })
  return (
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
  )
}
