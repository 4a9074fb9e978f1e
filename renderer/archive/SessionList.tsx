import { useVirtualizer } from '@tanstack/react-virtual'
import { useEffect, useRef } from 'react'
import { at } from '../../app/base/lists.ts'
import { counted } from '../../app/base/plural.ts'
import { duration, utcTime } from '../../app/base/times.ts'
import type { ArchiveRow } from '../../app/contract/studies.ts'
import { clockTime, localDate } from '../text/times.ts'
import { endingWords, sessionName, thermometerNames } from './archive.model.ts'
import { Sketch } from './Sketch.tsx'

interface Props {
  rows: readonly ArchiveRow[]
  chosen: string | null
  /** Thermometers' names by their ids in the register. */
  names: ReadonlyMap<string, string>
  onChoose: (id: string) => void
  /** Sessions there are in all, and how to ask for more of them. */
  total: number
  more: () => void
}

/** So many sessions before the end the next page is asked for. */
const NEAR_END = 12

/** Past sessions, each with the shape of its night. */
export function SessionList({ rows, chosen, names, onChoose, total, more }: Props) {
  const host = useRef<HTMLDivElement>(null)
  const list = useVirtualizer({
    count: rows.length,
    getScrollElement: () => host.current,
    estimateSize: () => 116,
    overscan: 8,
  })
  const items = list.getVirtualItems()
  const wantsMore = rows.length < total && (items.at(-1)?.index ?? 0) >= rows.length - NEAR_END
  useEffect(() => {
    if (wantsMore) more()
  }, [wantsMore, more])
  return (
    <>
      {rows.length < total && (
        <p className="faint session-count">{`${rows.length} of ${counted(total, 'session')}; more come when the end is scrolled to.`}</p>
      )}
      <div className="session-scroll" ref={host}>
        <ul style={{ height: list.getTotalSize(), position: 'relative' }} aria-label="Sessions">
          {items.map(({ index, start }) => {
            const row = at(rows, index)
            const { info } = row
            return (
              <li
                key={info.id}
                style={{ transform: `translateY(${start}px)` }}
                ref={list.measureElement}
                data-index={index}
              >
                <button type="button" aria-current={info.id === chosen} onClick={() => onChoose(info.id)}>
                  <strong>{sessionName(info.name)}</strong>
                  <Sketch sketch={row.sketch} />
                  <span className="session-facts" title={utcTime(info.startedUtcUs)}>
                    {`${localDate(info.startedUtcUs)} ${clockTime(info.startedUtcUs)}`}
                    {info.endedUtcUs !== null && `, ${duration((info.endedUtcUs - info.startedUtcUs) / 1e6)}`}
                    {`, ${counted(row.points, 'point')}, ${counted(row.readings, 'reading')}`}
                  </span>
                  <span className="session-facts session-thermometers">
                    {thermometerNames(row.thermometers, names)}
                  </span>
                  <span className={row.damaged ? 'session-state is-wrong' : 'session-state'}>
                    {[endingWords(row), row.signedOffBy ? `signed off by ${row.signedOffBy}` : '']
                      .filter(Boolean)
                      .join(', ')}
                  </span>
                </button>
              </li>
            )
          })}
        </ul>
      </div>
    </>
  )
}
