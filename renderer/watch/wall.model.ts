import type { ChannelView } from '../../app/contract/views.ts'

/** More numbers than this cannot be read from the door. */
const MOST_NUMBERS = 12

/** Channels that are not settled. */
export function unsettled(channels: readonly ChannelView[]): ChannelView[] {
  return channels.filter(
    (channel) => channel.role !== 'monitor' && !['flat', 'over'].includes(channel.settling.state),
  )
}

const isWrong = ({ settling }: ChannelView) => settling.state === 'crossed' || settling.state === 'broken'
const isKept = ({ role }: ChannelView) => role === 'reference' || role === 'check'

/** The channels whose numbers matter from the door: all of a few; of many, the reference, the check and what is wrong. */
export function onTheWall(channels: readonly ChannelView[]): ChannelView[] {
  if (channels.length <= MOST_NUMBERS) return [...channels]
  const kept = channels.filter(isKept).slice(0, MOST_NUMBERS)
  const wrong = channels.filter((channel) => isWrong(channel) && !isKept(channel))
  const moving = unsettled(channels).filter((channel) => !isWrong(channel) && !isKept(channel))
  return [...kept, ...wrong, ...moving].slice(0, MOST_NUMBERS)
}

/** Height of a tile in heights of its figures, with the name and the water below. */
const TILE_HEIGHT = 2.1
/** Width of a figure in its height. */
const FIGURE_WIDTH = 0.6

/** Columns with which `count` numbers of `figures` figures come out largest in a room so many times as wide as high. */
export function columnsFor(count: number, figures: number, aspect: number): number {
  let best = 1
  let largest = 0
  for (let columns = 1; columns <= count; columns++) {
    const rows = Math.ceil(count / columns)
    const size = Math.min(aspect / columns / (figures * FIGURE_WIDTH), 1 / rows / TILE_HEIGHT)
    if (size > largest * 1.001) {
      best = columns
      largest = size
    }
  }
  return best
}
