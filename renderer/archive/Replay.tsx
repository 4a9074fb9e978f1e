import { Label, Slider, SliderThumb, SliderTrack } from 'react-aria-components'
import { counted } from '../../app/base/plural.ts'
import { utcTime } from '../../app/base/times.ts'
import type { StationState } from '../../app/contract/views.ts'
import type { ChannelUnit } from '../../app/live/channel-unit.ts'
import type { SessionEvent } from '../../app/records/session.ts'
import { Button } from '../parts/Button.tsx'
import { OneOf } from '../parts/OneOf.tsx'
import { NightStrip } from '../signs/NightStrip.tsx'
import type { StripPicture } from '../signs/night.model.ts'
import { StillWater } from '../signs/StillWater.tsx'
import { fixed } from '../text/numbers.ts'
import { clockTime, localDateTime } from '../text/times.ts'
import { ReplayChannels } from './ReplayChannels.tsx'
import { type ReplayPoint, ReplayPoints } from './ReplayPoints.tsx'
import { FASTEST, SPEEDS, speedWords, type Trails } from './replay.model.ts'

interface Props {
  state: StationState | undefined
  trails: Trails
  points: readonly ReplayPoint[]
  /** Unit of temperature in which the reference is shown. */
  referenceUnit: ChannelUnit
  /** Latest first. */
  events: readonly SessionEvent[]
  picture: StripPicture | undefined
  speed: number
  /** How many times real time it really goes. */
  pace: number | undefined
  coefficients: 'then' | 'now'
  running: boolean
  ended: boolean
  onSpeed: (speed: number) => void
  onCoefficients: (coefficients: 'then' | 'now') => void
  onStart: () => void
  onStop: () => void
  onGo: (utcUs: number) => void
  onBeginning: () => void
  /** Given where there is a next one. */
  onReading: (() => void) | undefined
  onEvent: (() => void) | undefined
  onPoint: (() => void) | undefined
}

/** A past night seen again: readings, settling and points as they fell in, at any speed and step by step. */
export function Replay(props: Props) {
  const { state, speed, pace, running, ended, picture } = props
  return (
    <section className="sheet replay" aria-label="Replay">
      <div className="row">
        {running ? (
          <Button look="main" onPress={props.onStop}>
            Stop the replay
          </Button>
        ) : (
          <Button look="main" onPress={props.onStart}>
            {ended ? 'Replay it again' : 'Start the replay'}
          </Button>
        )}
        <Button onPress={props.onBeginning}>Back to the start</Button>
        <Step words="Next reading" to={props.onReading} />
        <Step words="Next event" to={props.onEvent} />
        <Step words="Next point" to={props.onPoint} />
        <OneOf
          label="Coefficients"
          value={props.coefficients}
          options={[
            { id: 'then', name: 'Coefficients of then' },
            { id: 'now', name: 'Coefficients of today' },
          ]}
          onChange={props.onCoefficients}
        />
      </div>
      <SpeedSlider
        speed={speed}
        onSpeed={props.onSpeed}
        words={running && speed >= FASTEST && pace !== undefined ? `, now ${fixed(pace, 0)} times` : ''}
      />
      {state && (
        <>
          <NightStrip
            picture={picture}
            label="The night up to this moment"
            onGo={(utcUs) => props.onGo(utcUs)}
          />
          <div className="row">
            <strong className="replay-time">
              <time title={utcTime(state.utcUs)}>{localDateTime(state.utcUs)}</time>
            </strong>
            <StillWater state={state.group.state} held={state.group.held} still />
            <span>{state.group.words}</span>
            <span className="faint">
              {`${counted(state.session?.readings ?? 0, 'reading')} so far${state.runner.setpointC === null ? '' : `, setpoint ${fixed(state.runner.setpointC, 2)} °C`}.`}
            </span>
          </div>
          <ReplayChannels channels={state.channels} trails={props.trails} />
          <div className="halves">
            <section className="stack">
              <h3>Points so far</h3>
              <ReplayPoints points={props.points} unit={props.referenceUnit} />
            </section>
            <section className="stack">
              <h3>What happened last</h3>
              <ol className="events">
                {props.events.map((event) => (
                  <li key={event.n}>
                    <time title={utcTime(event.utcUs)}>{clockTime(event.utcUs)}</time>
                    <span>{event.words}</span>
                  </li>
                ))}
              </ol>
            </section>
          </div>
        </>
      )}
    </section>
  )
}

function Step({ words, to }: { words: string; to: (() => void) | undefined }) {
  return (
    <Button onPress={() => to?.()} disabled={!to}>
      {words}
    </Button>
  )
}

function SpeedSlider({
  speed,
  words,
  onSpeed,
}: {
  speed: number
  words: string
  onSpeed: (speed: number) => void
}) {
  return (
    <Slider
      className="speed"
      value={Math.max(0, (SPEEDS as readonly number[]).indexOf(speed))}
      minValue={0}
      maxValue={SPEEDS.length - 1}
      step={1}
      onChange={(v) => onSpeed(SPEEDS[v as number] ?? 1)}
    >
      <Label>{`Speed: ${speedWords(speed)}${words}`}</Label>
      <SliderTrack className="speed-track">
        <SliderThumb className="speed-thumb" />
      </SliderTrack>
    </Slider>
  )
}
