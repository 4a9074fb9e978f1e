import { Label, Slider, SliderThumb, SliderTrack } from 'react-aria-components'
import type { StationState } from '../../app/contract/views.ts'
import { Button } from '../parts/Button.tsx'
import { Digits } from '../parts/Digits.tsx'
import { OneOf } from '../parts/OneOf.tsx'
import { StillWater } from '../signs/StillWater.tsx'
import { localDateTime } from '../text/times.ts'
import { SPEEDS } from './archive.model.ts'

interface Props {
  state: StationState | undefined
  speed: number
  coefficients: 'then' | 'now'
  running: boolean
  onSpeed: (speed: number) => void
  onCoefficients: (coefficients: 'then' | 'now') => void
  onStart: () => void
  onStop: () => void
}

/** A past night seen again, at any speed. */
export function Replay({
  state,
  speed,
  coefficients,
  running,
  onSpeed,
  onCoefficients,
  onStart,
  onStop,
}: Props) {
  const at = Math.max(0, (SPEEDS as readonly number[]).indexOf(speed))
  return (
    <section className="sheet" aria-label="Replay">
      <div className="row row-apart">
        <Slider
          className="speed"
          value={at}
          minValue={0}
          maxValue={SPEEDS.length - 1}
          step={1}
          onChange={(v) => onSpeed(SPEEDS[v as number] ?? 1)}
        >
          <Label>{`Speed: ${speed} times real time`}</Label>
          <SliderTrack className="speed-track">
            <SliderThumb className="speed-thumb" />
          </SliderTrack>
        </Slider>
        <OneOf
          label="Coefficients"
          value={coefficients}
          options={[
            { id: 'then', name: 'Coefficients of then' },
            { id: 'now', name: 'Coefficients of today' },
          ]}
          onChange={onCoefficients}
        />
        {running ? (
          <Button onPress={onStop}>Stop the replay</Button>
        ) : (
          <Button look="main" onPress={onStart}>
            Start the replay
          </Button>
        )}
      </div>
      {state && (
        <>
          <p>
            <strong>{localDateTime(state.utcUs)}</strong> <span className="faint">{state.runner.words}</span>
          </p>
          <ul className="replay-numbers">
            {state.channels.map((channel) => (
              <li key={channel.id}>
                <span>{channel.name}</span>
                <Digits
                  value={channel.temperature.value}
                  u={channel.temperature.u}
                  unit={channel.temperature.unit}
                />
                <StillWater state={channel.settling.state} held={channel.settling.held} still />
              </li>
            ))}
          </ul>
        </>
      )}
    </section>
  )
}
