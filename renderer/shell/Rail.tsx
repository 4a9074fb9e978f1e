import { PLACES, type Place } from '../page/places.ts'

interface Props {
  place: Place
  /** Places that have something to say: a count beside the name. */
  counts: Partial<Record<Place, string>>
  onGo: (place: Place) => void
  /** The guide, open where it answers what is asked at this place. */
  onHelp: () => void
}

export function Rail({ place, counts, onGo, onHelp }: Props) {
  return (
    <nav className="rail" aria-label="Places">
      <ul>
        {PLACES.map(({ id, name, key, about }) => (
          <li key={id}>
            <button
              type="button"
              className="rail-place"
              aria-current={id === place ? 'page' : undefined}
              title={about}
              onClick={() => onGo(id)}
            >
              <span className="rail-key" aria-hidden="true">
                {key}
              </span>
              <span className="rail-name">{name}</span>
              {counts[id] && <span className="rail-count">{counts[id]}</span>}
            </button>
          </li>
        ))}
      </ul>
      <button type="button" className="rail-help" onClick={onHelp}>
        <span aria-hidden="true">?</span> Guide
      </button>
      <p className="rail-mark" aria-hidden="true">
        Stillpoint
      </p>
    </nav>
  )
}
