import type { ReactNode } from 'react'
import type { LinkView } from '../../app/contract/views.ts'
import { Button } from '../parts/Button.tsx'
import { Choice } from '../parts/Choice.tsx'
import { Field } from '../parts/Field.tsx'
import { Problem } from '../parts/Problem.tsx'
import { Tick } from '../parts/Tick.tsx'

interface Props {
  links: readonly LinkView[]
  instrument: string
  onInstrument: (id: string) => void
  filter: string
  onFilter: (filter: string) => void
  paused: boolean
  onPause: () => void
  onSave: () => void
  onClear: () => void
  count: string
  traffic: ReactNode
  line: string
  onLine: (line: string) => void
  onSend: () => void
  onWalk: (by: number) => void
  override: boolean
  onOverride: (on: boolean) => void
  running: boolean
  problem: string | undefined
}

export const ALL = 'all'

/** What goes over the wires, and a line to speak into one of them. */
export function WirePanel(props: Props) {
  const { links, instrument, filter, paused, traffic, line, running, problem } = props
  const link = links.find((l) => l.instrument === instrument)
  return (
    <div className="wire">
      <div className="row row-end">
        <Choice
          label="Link"
          value={instrument}
          options={[
            { id: ALL, name: 'All links' },
            ...links.map((l) => ({ id: l.instrument, name: l.name, about: l.address })),
          ]}
          onChange={props.onInstrument}
        />
        <Field label="Show lines with" type="search" value={filter} onChange={props.onFilter} />
        <Button onPress={props.onPause} pressed={paused}>
          {paused ? 'Go on' : 'Pause'}
        </Button>
        <Button onPress={props.onSave}>Save these lines</Button>
        <Button look="quiet" onPress={props.onClear}>
          Clear
        </Button>
        <span className="faint">{props.count}</span>
      </div>
      {link && (
        <p className="faint">{`${link.name}: ${link.words} ${link.identity ?? 'Not identified yet.'} ${link.exchanges} exchanges, ${link.faults} faults.`}</p>
      )}
      {traffic}
      <form
        className="row row-end wire-say"
        onSubmit={(event) => {
          event.preventDefault()
          props.onSend()
        }}
        onKeyDown={(event) => {
          if (event.key !== 'ArrowUp' && event.key !== 'ArrowDown') return
          event.preventDefault()
          props.onWalk(event.key === 'ArrowUp' ? -1 : 1)
        }}
      >
        <Field
          label={link ? `Line to ${link.name}` : 'Choose one link to speak to it'}
          value={line}
          onChange={props.onLine}
          disabled={!link}
        />
        <Button right="operate" look="main" onPress={props.onSend} disabled={!link || line.trim() === ''}>
          Send
        </Button>
        {running && (
          <Tick on={props.override} onChange={props.onOverride} disabled={!link}>
            Send although a session runs: a reading may be disturbed
          </Tick>
        )}
      </form>
      <Problem words={problem} />
    </div>
  )
}
