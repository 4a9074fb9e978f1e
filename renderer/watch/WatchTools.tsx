import { SHOWN_WORDS, type Shown } from '../live/quantity.ts'
import { Button } from '../parts/Button.tsx'
import { Choice } from '../parts/Choice.tsx'
import { OneOf } from '../parts/OneOf.tsx'
import { SPANS, type WatchAct, type WatchChoice } from './watch.model.ts'

interface Props {
  choice: WatchChoice
  channels: readonly { id: string; name: string }[]
  newest: () => number
  act: (a: WatchAct) => void
  onWall: () => void
  onSelectView: () => void
}

const NONE = '-'

/** What to see, and how much of it. */
export function WatchTools({ choice, channels, newest, act, onWall, onSelectView }: Props) {
  const span = SPANS.find(({ s }) => s === choice.spanS)
  return (
    <div className="watch-tools">
      <OneOf
        label="Quantity"
        value={choice.shown}
        options={(Object.keys(SHOWN_WORDS) as Shown[]).map((id) => ({
          id,
          name: id === 'deviation' ? 'Deviation' : SHOWN_WORDS[id],
        }))}
        onChange={(shown) => act({ do: 'show', shown })}
      />
      <Choice
        label="Difference from"
        compact
        value={choice.base ?? NONE}
        options={[
          { id: NONE, name: 'No difference' },
          ...channels.map(({ id, name }) => ({ id, name: `Less ${name}` })),
        ]}
        onChange={(id) => act({ do: 'base', base: id === NONE ? null : id })}
      />
      <Choice
        label="Channels shown"
        compact
        value={choice.one ?? NONE}
        options={[
          { id: NONE, name: 'All channels' },
          ...channels.map(({ id, name }) => ({ id, name: `Only ${name}` })),
        ]}
        onChange={(id) => act({ do: 'one', channel: id === NONE ? null : id })}
      />
      <Choice
        label="Plots"
        compact
        value={choice.arrange}
        options={[
          { id: 'together', name: 'One plot' },
          { id: 'role', name: 'A plot per role' },
          { id: 'each', name: 'A plot each' },
        ]}
        onChange={(arrange) => act({ do: 'arrange', arrange })}
      />
      <Choice
        label="Axis"
        compact
        value={choice.axis}
        options={[
          { id: 'shared', name: 'Shared axis' },
          { id: 'own', name: 'Own axes' },
        ]}
        onChange={(axis) => act({ do: 'axis', axis })}
      />
      <Choice
        label="Time in view"
        compact
        value={span?.id ?? 'other'}
        options={[...SPANS, ...(span ? [] : [{ id: 'other', name: `${Math.round(choice.spanS)} s` }])]}
        onChange={(id) => {
          const found = SPANS.find((s) => s.id === id)
          if (found) act({ do: 'follow', spanS: found.s })
        }}
      />
      <span className="row row-tight">
        <Button
          look="quiet"
          label="See a longer stretch"
          onPress={() => act({ do: 'zoom', factor: 2, newest: newest() })}
        >
          −
        </Button>
        <Button
          look="quiet"
          label="See a shorter stretch"
          onPress={() => act({ do: 'zoom', factor: 0.5, newest: newest() })}
        >
          +
        </Button>
        <Button
          look="quiet"
          label="Earlier"
          onPress={() => act({ do: 'move', part: -0.5, newest: newest() })}
        >
          ‹
        </Button>
        <Button look="quiet" label="Later" onPress={() => act({ do: 'move', part: 0.5, newest: newest() })}>
          ›
        </Button>
      </span>
      {choice.follow ? (
        <Button onPress={() => act({ do: 'move', part: 0, newest: newest() })}>Hold still</Button>
      ) : (
        <Button look="main" onPress={() => act({ do: 'follow' })}>
          Follow again
        </Button>
      )}
      <Button look="quiet" onPress={onSelectView}>
        Statistics of this view
      </Button>
      <Button look="quiet" onPress={onWall}>
        Wall view
      </Button>
    </div>
  )
}
