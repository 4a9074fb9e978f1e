import { useEffect, useMemo, useRef, useState } from 'react'
import { counted } from '../../app/base/plural.ts'
import { useAct } from '../client/act.ts'
import { station } from '../client/connect.ts'
import { isWorking, useJoining, useStation } from '../client/state.ts'
import { EmptyBench } from '../desk/EmptyBench.connect.tsx'
import { fixed } from '../text/numbers.ts'
import { save } from '../text/save.ts'
import { Traffic } from './Traffic.tsx'
import { ALL, WirePanel } from './Wire.tsx'
import {
  addLines,
  filterLines,
  linesText,
  type TypedHistory,
  typed,
  type WireLine,
  walk,
} from './wire.model.ts'

const BACKLOG = 500
let count = 0

export default function WirePlace() {
  const links = useStation((state) => state?.links) ?? []
  const running = useStation(isWorking)
  const [instrument, setInstrument] = useState<string>(ALL)
  const [filter, setFilter] = useState('')
  const [paused, setPaused] = useState(false)
  const [line, setLine] = useState('')
  const [override, setOverride] = useState(false)
  const { problem, attempt } = useAct()
  const [history, setHistory] = useState<TypedHistory>({ lines: [], at: 0 })
  const [lines, clear] = useTraffic(instrument, paused)
  const shown = useMemo(() => filterLines(lines, filter), [lines, filter])
  const names = useMemo(() => Object.fromEntries(links.map((l) => [l.instrument, l.name])), [links])
  if (links.length === 0) return <EmptyBench />
  const send = () =>
    attempt(async () => {
      await station.wire.converse({
        instrument,
        line,
        override,
      })
      setHistory(typed(history, line))
      setLine('')
    })
  return (
    <WirePanel
      links={links}
      instrument={instrument}
      onInstrument={setInstrument}
      filter={filter}
      onFilter={setFilter}
      paused={paused}
      onPause={() => setPaused(!paused)}
      onSave={() => save(new Blob([linesText(shown)], { type: 'text/plain' }), 'traffic.txt')}
      onClear={clear}
      count={`${fixed(shown.length, 0)} of ${counted(lines.length, 'line')}`}
      traffic={<Traffic lines={shown} names={names} stick={!paused} />}
      line={line}
      onLine={setLine}
      onSend={() => void send()}
      onWalk={(by) => {
        const step = walk(history, by)
        setHistory(step.history)
        setLine(step.line)
      }}
      override={override}
      onOverride={setOverride}
      running={running}
      problem={problem}
    />
  )
}

/** Traffic as it happens, brought to the page four times a second at most. */
function useTraffic(instrument: string, paused: boolean): [readonly WireLine[], () => void] {
  const { round, state } = useJoining()
  const [lines, setLines] = useState<readonly WireLine[]>([])
  const held = useRef(paused)
  held.current = paused
  // biome-ignore lint/correctness/useExhaustiveDependencies: a new link begins the traffic anew
  useEffect(() => {
    if (state !== 'joined') return
    const stop = new AbortController()
    let fresh: WireLine[] = []
    setLines([])
    const listen = async () => {
      const input = instrument === ALL ? { backlog: BACKLOG } : { instrument, backlog: BACKLOG }
      for await (const one of await station.wire.traffic(input, { signal: stop.signal }))
        fresh.push({ ...one, n: ++count })
    }
    listen().catch(() => undefined)
    const timer = setInterval(() => {
      if (fresh.length === 0 || held.current) return
      const taken = fresh
      fresh = []
      setLines((old) => addLines(old, taken))
    }, 250)
    return () => {
      stop.abort()
      clearInterval(timer)
    }
  }, [instrument, round, state])
  return [lines, () => setLines([])]
}
