import { at, first } from '../../app/base/lists.ts'
import type { SettlingView } from '../../app/contract/views.ts'
import { StillWater } from '../signs/StillWater.tsx'
import type { Selected } from './bench.model.ts'
import type { Drawing as DrawingView, DrawnNode } from './drawing.model.ts'

interface Props {
  drawing: DrawingView
  selected: Selected
  onSelect: (selected: Selected) => void
  /** State of the group, shown as the surface of the bath. */
  water: Pick<SettlingView, 'state' | 'held'>
}

const ROW_REM = 3.8
const COLUMN_REM = 11.5
/** Width of the bath, in hundredths of a column. */
const VESSEL = 88

/** What is connected to what, and how it is. Every box can be chosen and edited. */
export function Drawing({ drawing, selected, onSelect, water }: Props) {
  const place = new Map(drawing.nodes.map((node) => [node.id, node]))
  const { columns } = drawing
  const counts = Array.from({ length: columns }, (_, c) => drawing.nodes.filter((n) => n.column === c).length)
  const x = (node: DrawnNode) => ((node.column + 0.5) / columns) * 100
  /** A short column is spread over the height, so that long names have room. */
  const y = (node: DrawnNode) => ((node.row + 0.5) / at(counts, node.column)) * 100
  const isChosen = (node: DrawnNode) =>
    selected !== null &&
    node.select !== null &&
    node.select.kind === selected.kind &&
    ('id' in selected ? 'id' in node.select && node.select.id === selected.id : true)
  const inBath = drawing.nodes.filter(
    (n) => n.column === 0 && (n.kind === 'thermometer' || n.kind === 'crowd' || n.kind === 'bath'),
  )
  const bath = inBath.find((n) => n.kind === 'bath')
  const tops = inBath.map(y)
  const half = 50 / Math.max(1, first(counts))
  return (
    <div className="drawing-scroll">
      <div
        className="drawing"
        style={{ height: `${drawing.rows * ROW_REM}rem`, minWidth: `${columns * COLUMN_REM}rem` }}
      >
        <svg viewBox="0 0 100 100" preserveAspectRatio="none" aria-hidden="true">
          {drawing.wires.map(({ from, to, state }) => {
            const a = place.get(from)
            const b = place.get(to)
            if (!a || !b) return null
            const [x1, y1, x2, y2] = [x(a), y(a), x(b), y(b)]
            // Between boxes that stand one above the other the line goes round them on the left.
            const bend = x1 === x2 ? x1 - 62 / columns : (x1 + x2) / 2
            return (
              <path
                key={`${from}${to}`}
                className={`wire-path is-${state}`}
                d={`M${x1} ${y1}C${bend} ${y1} ${bend} ${y2} ${x2} ${y2}`}
                vectorEffect="non-scaling-stroke"
              />
            )
          })}
        </svg>
        {bath && inBath.length > 1 && (
          <div
            className="vessel"
            aria-hidden="true"
            style={{
              width: `${VESSEL / columns}%`,
              top: `${Math.min(...tops) - half * 0.55}%`,
              height: `${Math.max(...tops) - Math.min(...tops) + half * 1.55}%`,
            }}
          >
            <StillWater state={water.state} held={water.held} full word={false} />
          </div>
        )}
        {drawing.nodes.map((node) => (
          <button
            key={node.id}
            type="button"
            className={`node node-${node.kind}${node.link ? ` is-${node.link}` : ''}${node.problem ? ' has-problem' : ''}`}
            aria-pressed={isChosen(node)}
            disabled={node.select === null}
            style={{ left: `${x(node)}%`, top: `${y(node)}%` }}
            onClick={() => onSelect(node.select)}
          >
            <strong>{node.title}</strong>
            <span className="node-foot">
              <small>{node.words}</small>
              {node.channel && (
                <StillWater
                  state={node.channel.settling.state}
                  held={node.channel.settling.held}
                  still
                  word={false}
                />
              )}
            </span>
          </button>
        ))}
      </div>
    </div>
  )
}
