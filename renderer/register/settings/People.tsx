import { type Person, RIGHT_WORDS, RIGHTS } from '../../../app/records/person.ts'
import { Button } from '../../parts/Button.tsx'
import { Problem } from '../../parts/Problem.tsx'
import { Tick } from '../../parts/Tick.tsx'

interface Props {
  people: readonly Person[]
  problem: string | undefined
  /** Whether who measured a session may sign its report. */
  measurerMaySign: boolean
  onMeasurerMaySign: (on: boolean) => void
  onNew: () => void
  onEdit: (person: Person) => void
}

/** Who works at this station, and what each may do. */
export function People({ people, problem, measurerMaySign, onMeasurerMaySign, onNew, onEdit }: Props) {
  return (
    <section className="sheet" aria-label="People">
      <h2>People</h2>
      <Problem words={problem} />
      <ul className="people">
        {people.map((person) => (
          <li key={person.id} className="row row-apart">
            <span>
              <strong>{person.name}</strong> <small className="faint">{aboutOf(person)}</small>
            </span>
            {!person.practice && (
              <Button look="quiet" label={`Change ${person.name}`} onPress={() => onEdit(person)}>
                Change
              </Button>
            )}
          </li>
        ))}
      </ul>
      <Tick on={!measurerMaySign} onChange={(on) => onMeasurerMaySign(!on)}>
        Who measured a session does not sign its report
      </Tick>
      <div>
        <Button onPress={onNew}>Enter a person</Button>
      </div>
    </section>
  )
}

function aboutOf({ rights, position, closed, practice }: Person): string {
  if (practice) return 'stands for whoever tries the lab in a box'
  if (closed) return `left on ${closed}`
  const may =
    rights.length === RIGHTS.length
      ? 'may do everything'
      : rights.length === 0
        ? 'may look'
        : `may ${rights.map((right) => RIGHT_WORDS[right]).join('; ')}`
  return position ? `${position}; ${may}` : may
}
