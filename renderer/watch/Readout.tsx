import { memo } from 'react'
import type { ChannelView } from '../../app/contract/views.ts'
import { MARKS } from '../../app/records/mark.ts'
import type { LiveBoard } from '../live/board.ts'
import type { Shown } from '../live/quantity.ts'
import { MARKER_PATHS, seriesLook } from '../plots/palette.ts'
import { StillWater } from '../signs/StillWater.tsx'
import { WATER_WORDS } from '../signs/water.ts'
import { LiveDigits } from './LiveDigits.tsx'
import type { ReadoutView } from './readout.model.ts'

interface Props {
  channel: ReadoutView
  look: number
  shown: Shown
  base: string | null
  hidden: boolean
  setpointC: number | null
  board: LiveBoard
  dark: boolean
  extra: number
  /** Decimals of the column's longest number, so that all decimal signs stand in line. */
  decimals: number
  showExpanded: boolean
  still: boolean
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
  const line = seriesLook(look, props.dark)
  const { state, held, words } = channel
  // Readings left out after each switch of the scanner are every visit's routine.
  const marks = channel.marks.filter((mark) => mark !== 'settling-discarded')
  const wrong = state === 'crossed'
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
            <path d="M1 5H27" stroke={line.colour} strokeWidth="2" strokeDasharray={line.dash.join(' ')} />
            <path d={MARKER_PATHS[line.marker]} transform="translate(14 5) scale(3.6)" fill={line.colour} />
          </svg>
        </button>
        <span className="readout-name" title={channel.name}>
          {channel.name}
        </span>
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
          unit={channel.unit}
          u={channel.u}
          setpointC={setpointC}
          base={base}
          extra={extra}
          decimals={props.decimals}
          showExpanded={showExpanded}
        />
      </button>
      <span className={`readout-state water-${state}`}>
        <span className="water-word">{WATER_WORDS[state]}</span>
        <span className="readout-role">{ROLE_WORDS[channel.role]}</span>
        {words !== '' && <span className="readout-words">{words}</span>}
        {marks.length > 0 && (
          <span className="readout-marks">{marks.map((mark) => MARKS[mark].words).join(', ')}</span>
        )}
      </span>
      <StillWater state={state} held={held} still={still} full word={false} />
    </li>
  )
})
