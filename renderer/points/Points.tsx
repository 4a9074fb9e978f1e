import type { ReactNode } from 'react'
import type { FitView } from '../../app/contract/studies.ts'
import { Button } from '../parts/Button.tsx'
import { Choice } from '../parts/Choice.tsx'
import { Problem } from '../parts/Problem.tsx'
import { CELLS, type Cell, modelWords } from './points.model.ts'

interface Props {
  title: string
  about: string
  cell: Cell
  onCell: (cell: Cell) => void
  fits: readonly FitView[]
  chosen: string | undefined
  onChoose: (channel: string) => void
  problem: string | undefined
  table: ReactNode
  fit: ReactNode
  report: ReactNode
  standing: ReactNode
  onReport: (() => void) | undefined
  onCopy: () => void
  onCurrent: (() => void) | undefined
}

/** What was taken, what it says, and the paper it becomes. */
export function PointsPanel(props: Props) {
  const {
    title,
    about,
    cell,
    onCell,
    fits,
    chosen,
    onChoose,
    problem,
    table,
    fit,
    report,
    standing,
    onReport,
    onCopy,
    onCurrent,
  } = props
  return (
    <>
      <div className="row row-apart">
        <div>
          <h2 className="place-title">{title}</h2>
          <p className="faint">{about}</p>
        </div>
        <div className="row">
          {onCurrent && <Button onPress={onCurrent}>Back to the running session</Button>}
          <Choice label="Show in the table" compact value={cell} options={CELLS} onChange={onCell} />
          <Button onPress={onCopy}>Copy table</Button>
          {onReport && (
            <Button look={report ? 'plain' : 'main'} pressed={Boolean(report)} onPress={onReport}>
              Report
            </Button>
          )}
        </div>
      </div>
      <Problem words={problem} />
      {report}
      {table}
      {fits.length > 0 && (
        <div className="two">
          <nav className="pick fits" aria-label="Fits">
            {fits.map((one) => (
              <button
                key={one.channel}
                type="button"
                aria-current={one.channel === chosen}
                onClick={() => onChoose(one.channel)}
              >
                <span>{one.name}</span>
                <small>{one.refusal ? 'not enough points yet' : modelWords(one.model)}</small>
              </button>
            ))}
          </nav>
          {fit}
        </div>
      )}
      {standing}
    </>
  )
}
