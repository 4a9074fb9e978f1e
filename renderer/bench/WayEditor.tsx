import type { Bench, BenchInstrument, Channel } from '../../app/records/bench.ts'
import { Button } from '../parts/Button.tsx'
import { Choice } from '../parts/Choice.tsx'
import { NumberField } from '../parts/NumberField.tsx'
import { wayWords } from './way.ts'

interface Props {
  bench: Bench
  channel: Channel
  meters: readonly BenchInstrument[]
  scanners: readonly BenchInstrument[]
  onChange: (part: Partial<Channel>) => void
}

/** The way of a channel's wire: the meter's input, and the scanners behind it, one behind another. */
export function WayEditor({ bench, channel, meters, scanners, onChange }: Props) {
  const { route } = channel
  const hop = (at: number, part: Partial<Channel['route'][number]>) =>
    onChange({ route: route.map((r, i) => (i === at ? { ...r, ...part } : r)) })
  const free = scanners.find(({ id }) => !route.some((r) => r.scanner === id))
  const names = (list: readonly BenchInstrument[]) => list.map((i) => ({ id: i.id, name: i.name }))
  return (
    <fieldset className="way">
      <legend>Connection</legend>
      <div className="way-hop">
        <Choice
          label="Bridge or meter"
          value={channel.instrument}
          options={names(meters)}
          onChange={(instrument) => onChange({ instrument })}
        />
        <NumberField
          label="Its input"
          value={channel.input}
          onChange={(input) => input && onChange({ input: Math.round(input) })}
        />
      </div>
      {route.map((r, at) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: a hop is its place in the series
        <div className="way-hop" key={at}>
          <Choice
            label={at === 0 ? 'Through scanner' : 'Next scanner'}
            value={r.scanner}
            options={names(scanners)}
            onChange={(scanner) => hop(at, { scanner })}
          />
          <NumberField
            label="Scanner input"
            value={r.input}
            onChange={(input) => input && hop(at, { input: Math.round(input) })}
          />
          <Button
            look="quiet"
            label={`Take scanner ${at + 1} out of the way`}
            onPress={() => onChange({ route: route.filter((_, i) => i !== at) })}
          >
            ×
          </Button>
        </div>
      ))}
      <div className="row">
        <Button
          disabled={!free}
          onPress={() => free && onChange({ route: [...route, { scanner: free.id, input: 1 }] })}
        >
          {route.length === 0 ? 'Lead it through a scanner' : 'Add a scanner behind it'}
        </Button>
        <span className="faint">
          {free || route.length > 0 ? wayWords(bench, channel) : 'No scanner is on this bench.'}
        </span>
      </div>
    </fieldset>
  )
}
