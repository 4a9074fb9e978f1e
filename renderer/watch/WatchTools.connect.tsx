import { useMemo } from 'react'
import { useStation } from '../client/state.ts'
import { board } from '../live/listen.ts'
import { useBackStep, useCommands } from '../page/hooks.ts'
import { type Command, page } from '../page/page.ts'
import { pointedTime } from './Panes.connect.tsx'
import { WatchTools } from './WatchTools.tsx'
import { windowOf } from './watch.model.ts'
import { act, useWatch, watchStore } from './watch.store.ts'

const newest = () => board.newestTime
const selectView = () => act({ do: 'select', window: windowOf(watchStore.getState(), newest()) })
const wall = () => page.setState({ wall: true })
const group = 'Watch'

const COMMANDS: readonly Command[] = [
  { id: 'watch-wall', words: 'Wall view', group, keys: 'w', run: wall },
  {
    id: 'watch-follow',
    words: 'Follow the newest reading, or hold still',
    group,
    keys: 'f',
    run: () =>
      watchStore.getState().follow ? act({ do: 'move', part: 0, newest: newest() }) : act({ do: 'follow' }),
  },
  {
    id: 'watch-u',
    words: 'Expanded uncertainty beside the numbers',
    group,
    keys: 'u',
    run: () => page.setState(({ expanded }) => ({ expanded: !expanded })),
  },
  {
    id: 'watch-in',
    words: 'Shorter stretch',
    group,
    keys: '+',
    run: () => act({ do: 'zoom', factor: 0.5, newest: newest() }),
  },
  {
    id: 'watch-out',
    words: 'Longer stretch',
    group,
    keys: '-',
    run: () => act({ do: 'zoom', factor: 2, newest: newest() }),
  },
  {
    id: 'watch-earlier',
    words: 'Earlier',
    group,
    keys: ',',
    run: () => act({ do: 'move', part: -0.5, newest: newest() }),
  },
  {
    id: 'watch-later',
    words: 'Later',
    group,
    keys: '.',
    run: () => act({ do: 'move', part: 0.5, newest: newest() }),
  },
  { id: 'watch-select', words: 'Statistics of this view', group, keys: 's', run: selectView },
  {
    id: 'watch-cursor',
    words: 'Set a cursor under the pointer, or in the middle',
    group,
    keys: 'c',
    run: () => {
      const { from, to } = windowOf(watchStore.getState(), newest())
      act({ do: 'cursor', time: pointedTime() ?? (from + to) / 2 })
    },
  },
  { id: 'watch-clear', words: 'Take the cursors away', group, run: () => act({ do: 'clear-cursors' }) },
  { id: 'watch-all', words: 'All channels into the plot', group, run: () => act({ do: 'all' }) },
]

/** Offers Watch's commands and its steps back. */
export function useWatchCommands(): void {
  const choice = useWatch()
  useCommands('watch', COMMANDS)
  useBackStep(!choice.follow, () => act({ do: 'follow' }))
  useBackStep(choice.one !== null, () => act({ do: 'one', channel: null }))
  useBackStep(choice.cursors.length > 0, () => act({ do: 'clear-cursors' }))
  useBackStep(choice.selected !== null, () => act({ do: 'select', window: null }))
}

export function WatchToolsNow() {
  const choice = useWatch()
  const names = useStation(
    (state) => state?.channels.map(({ id, name }) => `${id}\t${name}`).join('\n') ?? '',
  )
  const channels = useMemo(
    () =>
      names.split('\n').map((line) => ({ id: line.split('\t')[0] ?? '', name: line.split('\t')[1] ?? '' })),
    [names],
  )
  return (
    <WatchTools
      choice={choice}
      channels={channels}
      newest={newest}
      act={act}
      onWall={wall}
      onSelectView={selectView}
    />
  )
}
