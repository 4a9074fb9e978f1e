import { PLACES, type Place } from '../page/places.ts'

interface Props {
  place: Place
  /** Places that have something to say: a count beside the name. */
  counts: Partial<Record<Place, string>>
  onGo: (place: Place) => void
}

export function Rail({ place, counts, onGo }: Props) {
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
      <p className="rail-mark" aria-hidden="true">
        Stillpoint
      </p>
    </nav>
  )
}
