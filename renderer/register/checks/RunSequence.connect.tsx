import { useState } from 'react'
import { first } from '../../../app/base/lists.ts'
import { readSequence } from '../../../app/checks/cell-sequence.ts'
import type { Cell } from '../../../app/records/cell.ts'
import { useAnswer, wordsOf } from '../../client/ask.ts'
import { station } from '../../client/connect.ts'
import { useCells } from '../../client/records.ts'
import { useStation } from '../../client/state.ts'
import { say } from '../../page/page.ts'
import { readNumber } from '../../text/numbers.ts'
import { checks, type SetPlateau } from './checks.store.ts'
import { BeginSequence, GoingSequence } from './RunSequence.tsx'

const MINUTES = { min: 1, h: 60, s: 1 / 60 }

/** The plateaus that a session's sequence took, as a set takes them: read again from the record, at the stretches that were taken. */
async function plateausOf(session: string): Promise<SetPlateau[]> {
  const { setup, info } = await station.archive.open({ session })
  const { cells } = (await station.station.state()).runner
  const found: SetPlateau[] = []
  for (const [i, { taken }] of (cells?.steps ?? []).entries()) {
    const step = setup.cells?.steps[i]
    if (!taken || !step || !setup.cells) continue
    const { channel } = setup.cells
    const used = { fromUtcUs: taken.fromUtcUs, toUtcUs: taken.toUtcUs }
    const view = await station.checks.plateau({ session, channel, cell: { ...step, used } })
    if (!view.found) throw new Error(view.problem ?? 'A plateau of the sequence cannot be read again.')
    found.push({
      key: `${session} ${channel} ${i} ${view.found.used.firstSeq}`,
      session,
      sessionName: info.name,
      channel,
      date: view.date,
      thermometer: view.thermometer,
      fixedPoint: step.fixedPoint,
      cell: step.cell,
      found: view.found,
    })
  }
  return found
}

/** The sequence above, run by the station: begun here, and followed while it goes. */
export function RunSequenceNow({ text }: { text: string }) {
  const runner = useStation((state) => state?.runner)
  const session = useStation((state) => state?.session)
  const benchVersion = useStation((state) => state?.versions.bench)
  const bench = useAnswer(() => station.bench.get(), [benchVersion])
  const register = useCells().data
  const [channel, setChannel] = useState('')
  const [leastMin, setLeast] = useState('20')
  const [working, setWorking] = useState(false)
  const [problem, setProblem] = useState<string>()
  const attempt = <T,>(work: Promise<T>, done: (result: T) => void) => {
    setWorking(true)
    setProblem(undefined)
    work.then(done, (fault) => setProblem(wordsOf(fault))).finally(() => setWorking(false))
  }
  const over = runner?.phase === 'ended'
  const cells = runner?.cells
  const going = cells && (
    <GoingSequence
      cells={cells}
      words={runner.words}
      over={over}
      working={working}
      problem={over ? undefined : problem}
      onSet={() =>
        attempt(plateausOf(cells.session), (set) => {
          checks.setState({ set, sequence: text })
          say('The plateaus of the sequence are in the set.')
        })
      }
    />
  )
  if (going && !over) return going
  const channels = (bench.data?.channels ?? [])
    .filter((c) => c.enabled && c.thermometer !== undefined && c.junction === undefined)
    .map(({ id, name }) => ({ id, name }))
  const chosen = channels.some(({ id }) => id === channel) ? channel : (channels[0]?.id ?? '')
  const least = readNumber(leastMin, MINUTES)
  const steps = stepsOf(text, register?.cells ?? [])
  const missing =
    session && !session.look
      ? 'When the session that runs has ended.'
      : channels.length === 0
        ? 'The bench has no channel with a resistance thermometer. Add one on Bench, then begin.'
        : !steps
          ? 'Write the cells in their order above, such as WTP, Sn, WTP, Zn, WTP.'
          : least === undefined || least <= 0
            ? 'Give the least length of a plateau in minutes.'
            : undefined
  return (
    <>
      {going}
      <BeginSequence
        channels={channels}
        channel={chosen}
        leastMin={leastMin}
        missing={missing}
        working={working}
        problem={problem}
        onChannel={setChannel}
        onLeast={setLeast}
        onBegin={() =>
          attempt(station.run.cells({ cells: { channel: chosen, steps: steps!, leastS: least! * 60 } }), () =>
            say('The sequence has begun. The station asks for the first cell.'),
          )
        }
      />
    </>
  )
}

/** The steps that a text says, each in the register's cell where it has one of that point alone; undefined where it is no sequence. */
function stepsOf(text: string, cells: readonly Cell[]) {
  try {
    return readSequence(text).map((fixedPoint) => {
      const own = cells.filter((cell) => cell.fixedPoint === fixedPoint)
      return { fixedPoint, ...(own.length === 1 && { cell: first(own).id }) }
    })
  } catch {
    return undefined
  }
}
