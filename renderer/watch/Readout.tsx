import { memo } from 'react'
import { MARKS } from '../../app/records/mark.ts'
import type { ChannelView } from '../../app/contract/views.ts'
import type { LiveBoard } from '../live/board.ts'
import type { Shown } from '../live/quantity.ts'
import { unitOf } from '../live/quantity.ts'
import { isDark, seriesLook } from '../plots/palette.ts'
import { StillWater } from '../signs/StillWater.tsx'
import { LiveDigits } from './LiveDigits.tsx'

interface Props {
  channel: ChannelView
  look: number
  shown: Shown
  base: string | null
  hidden: boolean
  setpointC: number | null
  board: LiveBoard
  extra: number
  showExpanded: boolean
  still: boolean
  /** Words of what is missing, where there is room. */
  words: boolean
  onToggle: (channel: string) => void
  onPull: (channel: string) => void
}

const ROLE_WORDS: Record<ChannelView['role'], string> = {
  reference: 'reference',
  'under-test': 'under test',
  check: 'check',
  monitor: 'monitor',
}

/** One channel: its name, its number afloat on its water, and what there is to say about it. */
export const Readout = memo(function Readout(props: Props) {
  const { channel, look, shown, base, hidden, board, setpointC, extra, showExpanded, still } = props
  const unit = unitOf(shown, channel.rawUnit)
  const line = seriesLook(look, isDark())
  const wrong = channel.settling.state === 'broken' || channel.settling.state === 'crossed'
  return (
    <li className={`readout${wrong ? ' is-wrong' : ''}${hidden ? ' is-hidden' : ''}`}>
      <div className="readout-head">
        <button
          type="button"
          className="readout-key"
          aria-pressed={!hidden}
          aria-label={`${channel.name} in the plot`}
          title={hidden ? 'Bring into the plot' : 'Take out of the plot'}
          onClick={() => props.onToggle(channel.id)}
        >
          <svg viewBox="0 0 28 10" aria-hidden="true">
            <path d="M1 5H27" stroke={line.colour} strokeWidth="2.5" strokeDasharray={line.dash.join(' ')} />
          </svg>
        </button>
        <span className="readout-name">{channel.name}</span>
        <span className="readout-role">{ROLE_WORDS[channel.role]}</span>
      </div>
      <button
        type="button"
        className="readout-number"
        title="Unfold how this number came about"
        onClick={() => props.onPull(channel.id)}
      >
        <LiveDigits
          board={board}
          channel={channel.id}
          shown={shown}
          unit={unit}
          u={uOf(channel, shown)}
          setpointC={setpointC}
          base={base}
          extra={extra}
          showExpanded={showExpanded}
        />
      </button>
      <div className="readout-state">
        <StillWater state={channel.settling.state} held={channel.settling.held} still={still} />
        {props.words && <span className="readout-words">{channel.settling.words}</span>}
        {channel.marks.length > 0 && (
          <span className="readout-marks">{channel.marks.map((mark) => MARKS[mark].words).join(', ')}</span>
        )}
      </div>
    </li>
  )
})

/** Standard uncertainty of what is shown, in its unit. */
export function uOf(channel: ChannelView, shown: Shown): number | null {
  switch (shown) {
    case 'raw':
      return channel.rawUnit === 'ratio' ? channel.ratio.u : null
    case 'resistance':
      return channel.resistance.u
    case 'temperature':
      return channel.temperature.u
    case 'deviation':
      return channel.temperature.u === null ? null : channel.temperature.u * 1000
  }
}
