import { memo } from 'react'
import type { WaterState } from '../../app/contract/views.ts'
import { WATER_WORDS, waterPath } from './water.ts'

interface Props {
  state: WaterState
  held: number
  /** Left out where many are on show: only a few surfaces move. */
  still?: boolean
  wide?: boolean
  /** As wide as there is room: what floats above is its number. */
  full?: boolean
  word?: boolean
}

/** The still-water line: a surface that says whether a channel moves, holds, is settled, silent or at fault. */
export const StillWater = memo(function StillWater({ state, held, still, wide, full, word = true }: Props) {
  const width = full ? 288 : wide ? 144 : 48
  const height = 14
  return (
    <span
      className={`water water-${state}${still ? ' water-still' : ''}${wide ? ' water-wide' : ''}${full ? ' water-full' : ''}`}
    >
      <svg
        viewBox={`0 0 ${width} ${height}`}
        aria-hidden="true"
        preserveAspectRatio={wide || full ? 'none' : 'xMidYMid'}
      >
        <path
          d={waterPath(state, Math.round(held * 20) / 20, width, height)}
          vectorEffect="non-scaling-stroke"
        />
      </svg>
      {word && <span className="water-word">{WATER_WORDS[state]}</span>}
    </span>
  )
})
