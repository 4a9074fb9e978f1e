import { Fragment } from 'react'
import { unitOfChannel } from '../../app/live/channel-unit.ts'
import type { Bench } from '../../app/records/bench.ts'
import type { Register } from '../../app/records/register.ts'
import { Scroll } from '../parts/Scroll.tsx'
import { fixed, unitSign } from '../text/numbers.ts'
import type { Selected } from './bench.model.ts'
import { wayWords } from './way.ts'

interface Props {
  bench: Bench
  register: Register | undefined
  problems: Record<string, string>
  selected: Selected
  onSelect: (selected: Selected) => void
}

export function ChannelsTable({ bench, register, problems, selected, onSelect }: Props) {
  const nameOf = (list: readonly { id: string; name: string }[] | undefined, id: string | undefined) =>
    list?.find((e) => e.id === id)?.name ?? '–'
  return (
    <Scroll label="Channels of the bench" className="channels-table">
      <table className="table">
        <thead>
          <tr>
            <th scope="col" className="left">
              Channel
            </th>
            <th scope="col" className="left">
              Role
            </th>
            <th scope="col" className="left">
              Thermometer
            </th>
            <th scope="col" className="left">
              Connection
            </th>
            <th scope="col" className="left">
              Ratio to
            </th>
            <th scope="col" className="left">
              Shown in
            </th>
            <th scope="col">Current / mA</th>
          </tr>
        </thead>
        <tbody>
          {bench.channels.map((c) => (
            <Fragment key={c.id}>
              <tr className={selected?.kind === 'channel' && selected.id === c.id ? 'is-chosen' : ''}>
                <th scope="row">
                  <button
                    type="button"
                    className="digits-pull"
                    onClick={() => onSelect({ kind: 'channel', id: c.id })}
                  >
                    {c.name}
                  </button>
                  {problems[`channel/${c.id}`] && <span className="cell-mark"> !</span>}
                </th>
                <td className="left">{c.role.replace('-', ' ')}</td>
                <td className="left">{nameOf(register?.thermometers, c.thermometer)}</td>
                <td className="left channels-way">{wayWords(bench, c)}</td>
                <td className="left">
                  {c.reference?.kind === 'resistor'
                    ? nameOf(register?.resistors, c.reference.resistor)
                    : c.reference
                      ? nameOf(bench.channels, c.reference.channel)
                      : '–'}
                </td>
                <td className="left">{unitSign(unitOfChannel(c) ?? '') || (c.unit ?? '–')}</td>
                <td>{fixed(c.currentMa, 3)}</td>
              </tr>
              {problems[`channel/${c.id}`] && (
                <tr>
                  <td className="left cell-problem" colSpan={7}>
                    {problems[`channel/${c.id}`]}
                  </td>
                </tr>
              )}
            </Fragment>
          ))}
        </tbody>
      </table>
    </Scroll>
  )
}
