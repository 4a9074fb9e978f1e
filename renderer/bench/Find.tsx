import { counted } from '../../app/base/plural.ts'
import { Button } from '../parts/Button.tsx'
import { Field } from '../parts/Field.tsx'
import { Problem } from '../parts/Problem.tsx'

interface Props {
  host: string
  ports: string
  portsProblem: string | undefined
  networks: string
  networksProblem: string | undefined
  /** What was noticed around and not spoken to; undefined before anybody has looked. */
  sighted: readonly { where: string; words: string }[] | undefined
  searching: boolean
  /** undefined before the first search. */
  found: readonly { where: string; identity: string; known: boolean }[] | undefined
  /** How many of the found can be added. */
  news: number
  problem: string | undefined
  onHost: (host: string) => void
  onPorts: (ports: string) => void
  onSearch: () => void
  onNetworks: (networks: string) => void
  onLook: () => void
  onAsk: () => void
  onAdd: () => void
  onClose: () => void
}

/**
 * Looks around for instruments, or asks a host who answers there, and takes what does onto the bench, named by its own identity. What
 * was only noticed is asked when a person says so.
 */
export function Find(props: Props) {
  const { found, news, sighted } = props
  return (
    <section className="sheet" aria-label="Find instruments">
      <h2>Find instruments</h2>
      <div className="row row-fields">
        <Field
          label="Networks to ask"
          value={props.networks}
          problem={props.networksProblem}
          about="Broadcast addresses such as 192.0.2.255, for VXI-11; may stay empty."
          onChange={props.onNetworks}
        />
        <Button
          look="main"
          onPress={props.onLook}
          disabled={props.searching || props.networksProblem !== undefined}
        >
          {props.searching ? 'Searching' : 'Look around'}
        </Button>
      </div>
      {sighted && (
        <>
          {sighted.length === 0 && (
            <p>
              No instrument was noticed. Not every one announces itself: search its host, or write the link by
              hand.
            </p>
          )}
          <ul className="found" aria-label="Instruments noticed">
            {sighted.map(({ where, words }) => (
              <li key={where}>
                <strong>{where}</strong>
                <span>{words}</span>
              </li>
            ))}
          </ul>
          {sighted.length > 0 && (
            <div className="row">
              <Button onPress={props.onAsk} disabled={props.searching}>
                Ask who they are
              </Button>
              <span className="faint">Each is sent *IDN? once. Not while somebody measures with one.</span>
            </div>
          )}
        </>
      )}
      <div className="row row-fields">
        <Field label="Host to search" value={props.host} onChange={props.onHost} />
        <Field
          label="Ports to search"
          value={props.ports}
          problem={props.portsProblem}
          about="Such as 5025, 5301-5308; at most 32."
          onChange={props.onPorts}
        />
        <Button
          look="main"
          onPress={props.onSearch}
          disabled={props.searching || props.portsProblem !== undefined}
        >
          {props.searching ? 'Searching' : 'Search'}
        </Button>
        <Button look="quiet" onPress={props.onClose}>
          Close the search
        </Button>
      </div>
      <Problem words={props.problem} />
      {found && (
        <>
          {found.length === 0 && (
            <p>Nothing answered. Check that the instruments are on, and that host and ports are right.</p>
          )}
          <ul className="found" aria-label="Instruments that answered">
            {found.map(({ where, identity, known }) => (
              <li key={where}>
                <strong>{where}</strong>
                <span>{identity}</span>
                {!known && <span className="faint">No profile knows it: write one, then search again.</span>}
              </li>
            ))}
          </ul>
          {news > 0 && (
            <div>
              <Button look="main" onPress={props.onAdd}>{`Add ${counted(news, 'instrument')}`}</Button>
            </div>
          )}
        </>
      )}
    </section>
  )
}
