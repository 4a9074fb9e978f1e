import { useState } from 'react'
import { useAnswer, wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { goTo, say } from '../page/page.ts'
import { Button } from '../parts/Button.tsx'
import { Empty } from '../parts/Empty.tsx'
import { Problem } from '../parts/Problem.tsx'
import { BenchCard } from './BenchCard.tsx'
import { inOrder } from './benches.model.ts'
import { Dispute } from './Dispute.tsx'

/** Every bench of the laboratory at a glance, and what two of them said of the same record. */
export default function LaboratoryPlace() {
  const version = useStation((state) => state?.versions.benches)
  const records = useStation((state) => state?.versions.register)
  const now = useStation((state) => state?.utcUs) ?? 0
  // Where this bench itself stands otherwise, its card says so too.
  const own = useStation(
    (state) => state && `${state.runner.words} ${state.group.state} ${state.alarms.length}`,
  )
  const { data, problem } = useAnswer(() => station.laboratory.benches(), [version, own])
  if (!data) return <Problem words={problem} />
  const { exchange, benches } = data
  return (
    <div className="benches">
      {exchange && (exchange.state !== 'up-to-date' || exchange.troubles.length > 0) && (
        <p className={`benches-state is-${exchange.state}`} role="status">
          {[exchange.state === 'up-to-date' ? '' : exchange.words, ...exchange.troubles].join(' ')}
        </p>
      )}
      <Disputes keys={[version, records]} />
      {benches.length > 0 && (
        <ul className="bench-cards">
          {inOrder(benches).map((bench) => (
            <BenchCard key={bench.station} bench={bench} nowUtcUs={now} />
          ))}
        </ul>
      )}
      {exchange === null && (
        <Empty
          title="A laboratory of one bench"
          buttons={<Button onPress={() => goTo('register', ['station'])}>Open the settings</Button>}
        >
          <p>
            Where several benches share a PostgreSQL database, they have one register, one series of
            certificate numbers and one list of sessions, and each shows here how it stands. Name the database
            in the settings, under “Together with other benches”.
          </p>
        </Empty>
      )}
    </div>
  )
}

function Disputes({ keys }: { keys: readonly unknown[] }) {
  const [round, setRound] = useState(0)
  const [problem, setProblem] = useState<{ id: string; words: string }>()
  const { data } = useAnswer(() => station.laboratory.undecided(), [...keys, round])
  if (!data || data.length === 0) return null
  const decide = async (kind: string, id: string, hash: string, why: string) => {
    try {
      say((await station.laboratory.decide({ kind, id, hash, why })).words)
      setProblem(undefined)
    } catch (fault) {
      setProblem({ id, words: wordsOf(fault) })
    }
    setRound(round + 1)
  }
  return (
    <section className="disputes">
      <h2>Two benches changed these at the same time</h2>
      {data.map((record) => (
        <Dispute
          key={`${record.kind} ${record.id}`}
          record={record}
          problem={problem?.id === record.id ? problem.words : undefined}
          onDecide={(hash, why) => void decide(record.kind, record.id, hash, why)}
        />
      ))}
    </section>
  )
}
