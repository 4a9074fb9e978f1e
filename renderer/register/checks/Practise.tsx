import { useState } from 'react'
import { PRACTICE_PACE } from '../../../app/contract/views.ts'
import { Button } from '../../parts/Button.tsx'
import { Choice } from '../../parts/Choice.tsx'
import { Problem } from '../../parts/Problem.tsx'
import { paceChoices } from '../../text/paces.ts'
import type { CheckPage } from './guides.ts'

interface Props {
  page: CheckPage
  working: boolean
  running: boolean
  problem: string | undefined
  /** How fast the practice station's clock runs, which is the lab's as well; null: a station that keeps the wall's time. */
  pace: number | null
  onPace: (pace: number) => void
  onPractise: (what: 'cells' | 'bridge') => void
  /** Puts the lab in a box on the bench, in real time. */
  onLive: (scenario: string) => void
}

const CELLS = [
  { id: 'cell-H2O', name: 'Water triple point' },
  { id: 'cell-Ga', name: 'Gallium' },
  { id: 'cell-In', name: 'Indium' },
  { id: 'cell-Sn', name: 'Tin' },
  { id: 'cell-Zn', name: 'Zinc' },
  { id: 'cells', name: 'All five side by side, for a sequence' },
]

/** How long a cell takes, by the pace of the clock that lab and station share. */
const paceWords = (pace: number | null): string =>
  pace === null
    ? 'That takes hours, as it does everywhere; a practice station (stillpoint practice) has a pace to choose.'
    : `Lab and station share one clock, whose pace is chosen here: at ${PRACTICE_PACE} a first plateau of zinc takes about three minutes.`

/** Records to try a check on, where no cell and no bridge is at hand. */
export function Practise({ page, working, running, problem, pace, onPace, onPractise, onLive }: Props) {
  const [cell, setCell] = useState('cell-Sn')
  if (page === 'wtp') return null
  const cells = page === 'fixed-points'
  return (
    <section className="practise" aria-label="To practise">
      <h3>To practise</h3>
      <p>
        {cells
          ? 'The lab in a box melts and freezes cells of water, gallium, indium, tin and zinc with one thermometer in them, and puts the five records into the archive. They are marked as its own.'
          : 'The lab in a box measures a box of three resistors in all combinations, two resistors both ways round, and a working resistor against a better one, and puts the record into the archive. It is marked as its own.'}
      </p>
      <div className="row">
        <Button onPress={() => onPractise(cells ? 'cells' : 'bridge')} disabled={working || running}>
          {cells ? 'Record five cells to practise on' : 'Record a bridge to practise on'}
        </Button>
        {working && (
          <span className="faint" role="status">
            {cells ? 'Recording; about a minute' : 'Recording; some seconds'}
          </span>
        )}
        {running && <span className="faint">When the session that runs has ended.</span>}
      </div>
      <p>
        {cells
          ? `Or put one cell with its furnace on the bench and work it as it happens: the furnace melts and freezes it by itself. All five stand ready side by side for a sequence that the station runs: where you say that the thermometer is in a cell, the lab puts it there. ${paceWords(pace)}`
          : 'Or put the bridge with its box of resistors on the bench, and record it as it happens.'}
      </p>
      <div className="row row-end">
        {cells && <Choice label="Cell of the lab" value={cell} options={CELLS} onChange={setCell} />}
        {cells && pace !== null && (
          <Choice
            label="Pace of the lab and of this station"
            value={String(pace)}
            options={paceChoices(pace)}
            onChange={(id) => onPace(Number(id))}
          />
        )}
        <Button onPress={() => onLive(cells ? cell : 'bridge-check')} disabled={working || running}>
          {cells ? 'Put this cell on the bench' : 'Put the bridge on the bench'}
        </Button>
      </div>
      <Problem words={problem} />
    </section>
  )
}
