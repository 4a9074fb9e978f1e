import type { ReactNode } from 'react'
import { Button } from '../parts/Button.tsx'
import { Choice } from '../parts/Choice.tsx'
import { Field } from '../parts/Field.tsx'
import { NumberField } from '../parts/NumberField.tsx'
import { Problem } from '../parts/Problem.tsx'
import { SECOND_UNITS } from '../text/numbers.ts'

interface Props {
  name: string
  scanEveryS: number
  benches: readonly { id: string; name: string }[]
  current: string
  changed: boolean
  /** Why what is shown is not the bench that the station has. */
  aside: string | undefined
  canUndo: boolean
  canRedo: boolean
  running: boolean
  problem: string | undefined
  working: string | undefined
  drawing: ReactNode
  /** The search for instruments, while it is open. */
  find: ReactNode
  editor: ReactNode
  bath: ReactNode
  table: ReactNode
  canAddChannel: boolean
  onName: (name: string) => void
  onScan: (scanEveryS: number) => void
  onChoose: (id: string) => void
  onNew: () => void
  onLab: () => void
  onSave: () => void
  onGiveUp: () => void
  onUndo: () => void
  onRedo: () => void
  onConnect: () => void
  onDisconnect: () => void
  onFind: () => void
  onAddInstrument: () => void
  onAddChannel: () => void
}

/** What stands here and how it is joined. */
export function BenchPanel(props: Props) {
  return (
    <div className="desk" data-desk="bench">
      <div className="row row-end row-apart">
        <div className="row row-end">
          <div className="bench-name">
            <Field label="Name of the bench" value={props.name} onChange={props.onName} />
          </div>
          <NumberField
            label="A scan every"
            unit="s"
            units={SECOND_UNITS}
            value={props.scanEveryS}
            onChange={(v) => v !== undefined && props.onScan(v)}
          />
          {props.benches.length > 1 && (
            <Choice
              label="Other benches"
              value={props.current}
              options={props.benches}
              onChange={props.onChoose}
            />
          )}
        </div>
        <div className="row">
          <Button right="operate" look="quiet" onPress={props.onNew}>
            New bench
          </Button>
          <Button right="operate" look="quiet" onPress={props.onLab} disabled={props.running}>
            Lab in a box
          </Button>
          <Button look="quiet" onPress={props.onUndo} disabled={!props.canUndo}>
            Undo
          </Button>
          <Button look="quiet" onPress={props.onRedo} disabled={!props.canRedo}>
            Redo
          </Button>
          <Button right="operate" onPress={props.onDisconnect} disabled={props.running}>
            Close the links
          </Button>
          <Button right="operate" onPress={props.onConnect}>
            Open the links
          </Button>
          <Button right="operate" look="main" onPress={props.onSave} disabled={!props.changed}>
            Save the bench
          </Button>
        </div>
      </div>
      {props.working && (
        <p className="working" role="status">
          {props.working}
        </p>
      )}
      <Problem words={props.problem} />
      {props.aside && (
        <div className="row" role="status">
          <span>{props.aside}</span>
          <Button onPress={props.onGiveUp}>Show what the station has</Button>
        </div>
      )}
      {props.drawing}
      <div className="row">
        <Button right="operate" onPress={props.onFind}>
          Find instruments
        </Button>
        <Button right="operate" onPress={props.onAddInstrument}>
          Add an instrument
        </Button>
        <Button right="operate" onPress={props.onAddChannel} disabled={!props.canAddChannel}>
          Add a channel
        </Button>
        {!props.canAddChannel && <span className="faint">A channel needs a bridge or a meter first.</span>}
      </div>
      {props.find}
      <div className="halves">
        <div className="stack">
          {props.editor}
          {props.bath}
        </div>
        {props.table}
      </div>
    </div>
  )
}
