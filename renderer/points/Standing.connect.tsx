import { first } from '../../app/base/lists.ts'
import type { ChartKind } from '../../app/contract/checks.ts'
import type { Channel } from '../../app/records/bench.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { goTo, usePage } from '../page/page.ts'
import { ofSession } from '../page/points-address.ts'
import { ControlChart } from '../plots/ControlChart.tsx'

interface Asked {
  kind: ChartKind
  id: string
  name: string
}

/** What the results stand on, over the years: the reference's R(WTP), and every check thermometer of the session. */
export function Standing({ channels }: { channels: readonly Channel[] }) {
  const asked = channels.flatMap(({ role, thermometer, name }): Asked[] => {
    if (!thermometer) return []
    if (role === 'reference') return [{ kind: 'rwtp', id: thermometer, name: `${name}, R(WTP)` }]
    return role === 'check' ? [{ kind: 'check-thermometer', id: thermometer, name }] : []
  })
  if (asked.length === 0) return null
  return (
    <section className="stack standing" aria-label="What the results stand on">
      <h2>What the results stand on</h2>
      <p className="faint">
        {asked.some(({ kind }) => kind === 'check-thermometer')
          ? 'The check thermometers of this session and the reference at the water triple point, over the years.'
          : 'The reference at the water triple point, over the years. No check thermometer was in this session.'}
      </p>
      <div className="halves">
        {asked.map((one) => (
          <Chart key={`${one.kind}${one.id}`} {...one} />
        ))}
      </div>
    </section>
  )
}

function Chart({ kind, id, name }: Asked) {
  const version = useStation((state) => state?.versions.register)
  const theme = usePage((state) => state.theme)
  const { data, problem } = useAnswer(() => station.checks.history({ kind, id }), [kind, id, version])
  if (problem !== undefined) return <p className="faint">{`${name}: nothing has been kept of it yet.`}</p>
  if (!data) return <p className="faint">{`${name}: looking for its chart.`}</p>
  if (data.entries.length < 2)
    return (
      <p className="faint">
        {data.entries.length === 1
          ? `${name}: one entry, of ${first(data.entries).date}. ${data.verdict}`
          : `${name}: ${data.verdict}`}
      </p>
    )
  return (
    <ControlChart
      chart={data}
      theme={theme}
      onSession={(session) => {
        goTo('points', ofSession(session))
      }}
    />
  )
}
