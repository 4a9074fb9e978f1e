import type { FillView } from '../../app/contract/calls-orders.ts'
import type { Bench } from '../../app/records/bench.ts'
import { Button } from '../parts/Button.tsx'
import { Problem } from '../parts/Problem.tsx'
import { Scroll } from '../parts/Scroll.tsx'
import { Tick } from '../parts/Tick.tsx'
import { fixed } from '../text/numbers.ts'

interface Props {
  fill: FillView
  bench: Bench | null
  chosen: readonly string[]
  running: boolean
  problem: string | undefined
  onChoose: (item: string, on: boolean) => void
  onPrepare: () => void
}

/** As a person writes temperatures one after another. */
const degrees = (all: readonly number[]) =>
  `${all.map((c) => fixed(c, Number.isInteger(c) ? 0 : 2)).join(', ')} °C`

/** Which waiting items share the next night: where each hangs, and the points that are its own. */
export function Fill({ fill, bench, chosen, running, problem, onChoose, onPrepare }: Props) {
  if (fill.waiting.length === 0)
    return <p className="faint">No item waits to be measured. Enter an order with its thermometers first.</p>
  const channelName = (id: string) => bench?.channels.find((c) => c.id === id)?.name ?? id
  return (
    <section className="stack" aria-label="Fill the bath">
      {fill.words && <p>{fill.words}</p>}
      <Scroll label="Items that wait">
        <table className="table">
          <thead>
            <tr>
              <th scope="col" className="left">
                Item
              </th>
              <th scope="col" className="left">
                Order
              </th>
              <th scope="col" className="left">
                Customer
              </th>
              <th scope="col" className="left">
                In this night
              </th>
            </tr>
          </thead>
          <tbody>
            {fill.waiting.map((w) => {
              const placed = fill.placed.find(({ item }) => item === w.item)
              const left = fill.left.find(({ item }) => item === w.item)
              return (
                <tr key={w.item}>
                  <th scope="row">
                    <Tick on={chosen.includes(w.item)} onChange={(on) => onChoose(w.item, on)}>
                      {w.serial ? `${w.name}, ${w.serial}` : w.name}
                    </Tick>
                  </th>
                  <td className="left">{w.order}</td>
                  <td className="left cell-words">{w.customer}</td>
                  <td className="left cell-words">
                    {placed
                      ? `On ${channelName(placed.channel)}, its points ${degrees(placed.own)}`
                      : (left?.words ?? 'Not chosen')}
                  </td>
                </tr>
              )
            })}
          </tbody>
        </table>
      </Scroll>
      {fill.setpoints.length > 0 && <p>{`Setpoints of the night: ${degrees(fill.setpoints)}.`}</p>}
      <Problem words={problem} />
      <div className="row">
        <Button look="main" onPress={onPrepare} disabled={fill.placed.length === 0 || running}>
          Fill the bath
        </Button>
        {running && <span className="faint">A session is running; fill the bath when it has ended.</span>}
      </div>
    </section>
  )
}
