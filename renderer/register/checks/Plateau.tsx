import { useMemo, useState } from 'react'
import type { FoundPlateau, PlateauView } from '../../../app/contract/checks.ts'
import { Button } from '../../parts/Button.tsx'
import { Field } from '../../parts/Field.tsx'
import { OneOf } from '../../parts/OneOf.tsx'
import { Problem } from '../../parts/Problem.tsx'
import { spread } from '../../plots/axes.ts'
import { localDate, localDateTime } from '../../text/times.ts'
import { cellName } from './cells.model.ts'
import { readMoment } from './moments.ts'
import { PlateauFacts } from './PlateauFacts.tsx'
import { StretchPlot } from './StretchPlot.tsx'

interface Props {
  view: PlateauView | undefined
  working: boolean
  /** What is on show answers an earlier question; a newer one is under way. */
  isOld: boolean
  problem: string | undefined
  fixedPoint: string
  isChosen: boolean
  /** Nothing in the set says where this cell's plateau lies. */
  lacksWater: boolean
  onStretch: (fromS: number, toS: number) => void
  onFind: () => void
  onKeep: (found: FoundPlateau) => void
}

/** Half of what is in sight about a plateau, at least, mK. */
const LEAST_SIGHT_MK = 4

/** The record with the plateau in it, and all that follows from the stretch it is taken from. */
export function Plateau({
  view,
  working,
  isOld,
  problem,
  fixedPoint,
  isChosen,
  lacksWater,
  onStretch,
  onFind,
  onKeep,
}: Props) {
  const [sight, setSight] = useState<'plateau' | 'all'>('plateau')
  const found = view?.found ?? null
  const y = useMemo(() => {
    if (!view) return []
    // Lossy on purpose: for the drawing alone.
    return found ? view.ohm.map((ohm) => ((ohm - found.meanOhm) / found.ohmPerKelvin) * 1e3) : view.ohm
  }, [view, found])
  if (working) return <p className="curtain">Reading the record</p>
  if (!view || view.utcS.length === 0)
    return <Problem words={problem ?? (view && 'This channel has no reading that makes a resistance.')} />
  const first = view.utcS[0]!
  const last = view.utcS.at(-1)!
  const stretch = found
    ? { from: found.used.fromUtcUs / 1e6, to: found.used.toUtcUs / 1e6 }
    : { from: first, to: last }
  const half = found ? Math.max(LEAST_SIGHT_MK, 8 * found.sdMk, 2 * found.rangeMk) : 0
  const near = found && sight === 'plateau' ? { low: -half, high: half } : spread(y)
  return (
    <section className="sheet" aria-label="The plateau">
      <div className="row row-apart">
        <h3>The plateau</h3>
        <div className="row">
          <OneOf
            label="In sight"
            value={sight}
            options={[
              { id: 'plateau', name: 'About the plateau' },
              { id: 'all', name: 'Whole record' },
            ]}
            onChange={setSight}
          />
          <Button onPress={onFind} disabled={!isChosen}>
            Find it again
          </Button>
        </div>
      </div>
      <StretchPlot
        label="Record of the cell with the stretch the value is taken from"
        x={view.utcS}
        y={y}
        yTitle={found ? 'From the mean / mK' : 'R / Ω'}
        range={near}
        stretch={stretch}
        onStretch={onStretch}
      />
      <Ends stretch={stretch} onStretch={onStretch} />
      {view.progress && <p role="status">{view.progress.words}</p>}
      <Problem words={view.problem ?? problem} />
      {view.problem && (
        <p className="faint">
          {lacksWater &&
            'With the water triple point in the set first, its R tells where this plateau lies. '}
          The stretch can also be chosen: drag its ends in the drawing, move them with the arrow keys, or type
          its moments.
        </p>
      )}
      {found && (
        <>
          <PlateauFacts found={found} name={cellName(fixedPoint)} currentMa={view.currentMa} />
          <div>
            <Button look="main" disabled={isOld} onPress={() => onKeep(found)}>
              {`Put R(${cellName(fixedPoint)}) into the set`}
            </Button>
          </div>
        </>
      )}
    </section>
  )
}

/** The two moments as text, for those who know them. */
function Ends({
  stretch,
  onStretch,
}: {
  stretch: { from: number; to: number }
  onStretch: Props['onStretch']
}) {
  const [typed, setTyped] = useState<{ from?: string; to?: string }>({})
  const shown = {
    from: typed.from ?? localDateTime(stretch.from * 1e6),
    to: typed.to ?? localDateTime(stretch.to * 1e6),
  }
  const day = localDate(stretch.from * 1e6)
  const read = { from: readMoment(shown.from, day), to: readMoment(shown.to, day) }
  const put = (end: 'from' | 'to', text: string) => {
    const at = readMoment(text, day)
    const whole = { ...stretch, ...(at !== undefined && { [end]: at }) }
    if (at === undefined || whole.from >= whole.to) return setTyped((old) => ({ ...old, [end]: text }))
    setTyped({})
    onStretch(whole.from, whole.to)
  }
  const words = 'Such as 21:04 or 2026-03-01 21:04:30, the beginning before the end'
  return (
    <div className="row row-end">
      <Field
        label="From"
        value={shown.from}
        problem={typed.from !== undefined || read.from === undefined ? words : undefined}
        onChange={(text) => put('from', text)}
      />
      <Field
        label="To"
        value={shown.to}
        problem={typed.to !== undefined || read.to === undefined ? words : undefined}
        onChange={(text) => put('to', text)}
      />
    </div>
  )
}
