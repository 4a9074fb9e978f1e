import { useVirtualizer } from '@tanstack/react-virtual'
import { useRef } from 'react'
import type { ArchiveRow } from '../../app/contract/studies.ts'
import { Field } from '../parts/Field.tsx'
import { fixed } from '../text/numbers.ts'
import { clockTime, duration, localDate, utcTime } from '../text/times.ts'
import { ENDING_WORDS, sketchPath } from './archive.model.ts'
import { ImportButton } from './ImportButton.tsx'

interface Props {
  rows: readonly ArchiveRow[]
  chosen: string | null
  search: string
  onSearch: (search: string) => void
  onChoose: (id: string) => void
  onImport: (file: File) => void
}

/** Past sessions, each with the shape of its night. */
export function SessionList({ rows, chosen, search, onSearch, onChoose, onImport }: Props) {
  const host = useRef<HTMLDivElement>(null)
  const list = useVirtualizer({
    count: rows.length,
    getScrollElement: () => host.current,
    estimateSize: () => 96,
    overscan: 8,
  })
  return (
    <div className="session-list">
      <Field
        label="Find a session"
        type="search"
        value={search}
        onChange={onSearch}
        about="By name, operator or thermometer."
      />
      <ImportButton onImport={onImport} />
      <div className="session-scroll" ref={host}>
        <ul style={{ height: list.getTotalSize(), position: 'relative' }} aria-label="Sessions">
          {list.getVirtualItems().map(({ index, start }) => {
            const row = rows[index]!
            const { info } = row
            return (
              <li
                key={info.id}
                style={{ transform: `translateY(${start}px)` }}
                ref={list.measureElement}
                data-index={index}
              >
                <button type="button" aria-current={info.id === chosen} onClick={() => onChoose(info.id)}>
                  <strong>{info.name || 'Session without a name'}</strong>
                  <svg viewBox="0 0 100 20" preserveAspectRatio="none" aria-hidden="true">
                    <path d={sketchPath(row.sketch)} vectorEffect="non-scaling-stroke" />
                  </svg>
                  <span className="session-facts" title={utcTime(info.startedUtcUs)}>
                    {`${localDate(info.startedUtcUs)} ${clockTime(info.startedUtcUs)}`}
                    {info.endedUtcUs !== null && `, ${duration((info.endedUtcUs - info.startedUtcUs) / 1e6)}`}
                    {`, ${row.points} points, ${fixed(row.readings, 0)} readings`}
                  </span>
                  <span className={row.damaged ? 'session-state is-wrong' : 'session-state'}>
                    {row.damaged ??
                      [
                        info.ending ? ENDING_WORDS[info.ending] : 'running',
                        row.signedOffBy ? `signed off by ${row.signedOffBy}` : '',
                      ]
                        .filter(Boolean)
                        .join(', ')}
                  </span>
                </button>
              </li>
            )
          })}
        </ul>
      </div>
    </div>
  )
}
