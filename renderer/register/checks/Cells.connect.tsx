import { useEffect, useMemo, useState } from 'react'
import { useAnswer } from '../../client/ask.ts'
import { station } from '../../client/connect.ts'
import { useKept } from '../../client/draft.ts'
import { useCells } from '../../client/records.ts'
import { useStation } from '../../client/state.ts'
import { type CellDraft, readCell, sequenceOf, setRWtp } from './cells.model.ts'
import { checks, useChecks } from './checks.store.ts'
import { Plateau } from './Plateau.tsx'
import { PlateauChoice } from './PlateauChoice.tsx'
import { PlateauSetNow } from './PlateauSet.connect.tsx'
import { RunSequenceNow } from './RunSequence.connect.tsx'
import { Sequence } from './Sequence.tsx'
import { type SessionChoice, useSetup } from './sessions.connect.tsx'
import { firstCell, guessCell } from './sessions.model.ts'

const WAIT_MS = 250
const LOOK_MS = 5_000

/** The order of cells, as it is written and as the station runs it. */
export function SequenceNow() {
  const set = useChecks((state) => state.set)
  const sequence = useChecks((state) => state.sequence)
  // A sequence takes days: it is kept on the station, for whoever goes on with it at another window or after a restart.
  useKept('checks/cells', set.length === 0 && sequence === '' ? undefined : { set, sequence }, true, (kept) =>
    checks.setState(kept),
  )
  const going = useMemo(() => sequenceOf(sequence, set), [sequence, set])
  const running = useStation((state) => state?.runner.cells !== undefined && state.runner.phase !== 'ended')
  return (
    <>
      {!running && (
        <Sequence text={sequence} {...going} onText={(text) => checks.setState({ sequence: text })} />
      )}
      <RunSequenceNow text={sequence} />
    </>
  )
}

/** Fixed-point work: a record, its plateau, the set of plateaus, the coefficients. */
export function CellsNow({ sessions }: { sessions: readonly SessionChoice[] }) {
  const set = useChecks((state) => state.set)
  const [draft, setDraft] = useState<CellDraft>(() => firstCell(sessions, setRWtp(set) !== undefined))
  const register = useCells().data
  const setup = useSetup(draft.session)
  const channels = setup.data?.setup.bench.channels ?? []
  const channel = channels.find(({ id }) => id === draft.channel) ?? channels.find((c) => c.thermometer)
  const { said, problems } = useMemo(() => readCell(draft), [draft])
  const [asked, setAsked] = useState(said)
  useEffect(() => {
    const timer = setTimeout(() => setAsked(said), WAIT_MS)
    return () => clearTimeout(timer)
  }, [said])
  const running = useStation((state) => state?.session?.id) === draft.session
  const [look, setLook] = useState(0)
  // A cell that is being recorded is looked at again and again: its plateau is said while it happens.
  useEffect(() => {
    if (!running) return
    const timer = setInterval(() => setLook((n) => n + 1), LOOK_MS)
    return () => clearInterval(timer)
  }, [running])
  const rWtp = draft.fixedPoint === 'H2O' ? undefined : setRWtp(set)
  const of = `${draft.session} ${channel?.id}`
  const view = useAnswer(
    channel && setup.data
      ? () =>
          station.checks
            .plateau({
              session: draft.session,
              channel: channel.id,
              cell: asked,
              ...(rWtp !== undefined && { rWtp }),
            })
            .then((found) => ({ of, asked, rWtp, found }))
      : undefined,
    [draft.session, channel?.id, asked, rWtp, look],
  )
  // The last answer stays on show meanwhile: that of another record or cell must not pass for this one's.
  const own = view.data?.of === of && view.data.asked.fixedPoint === draft.fixedPoint ? view.data : undefined
  const isOld = own?.asked !== said || own.rWtp !== rWtp
  const session = sessions.find(({ id }) => id === draft.session)
  return (
    <>
      <SequenceNow />
      <PlateauChoice
        draft={draft}
        sessions={sessions}
        cells={register?.cells ?? []}
        channels={channels.map(({ id, name, currentMa }) => ({
          id,
          name: `${name}, ${currentMa.toPrecision(4)} mA`,
        }))}
        channel={channel?.id ?? ''}
        problems={problems}
        onDraft={(change) => setDraft((old) => ({ ...old, ...change }))}
        onSession={(id) => {
          const name = sessions.find((s) => s.id === id)?.name ?? ''
          setDraft((old) => ({ ...old, session: id, channel: '', used: null, ...guessCell(name) }))
        }}
      />
      <Plateau
        view={own?.found}
        working={view.asking && own === undefined}
        isOld={isOld}
        problem={view.problem ?? setup.problem}
        fixedPoint={draft.fixedPoint}
        isChosen={draft.used !== null}
        lacksWater={draft.fixedPoint !== 'H2O' && rWtp === undefined}
        onStretch={(from, to) =>
          setDraft((old) => ({
            ...old,
            used: { fromUtcUs: Math.round(from * 1e6), toUtcUs: Math.round(to * 1e6) },
          }))
        }
        onFind={() => setDraft((old) => ({ ...old, used: null }))}
        onKeep={(found) =>
          checks.setState(({ set: old }) => ({
            set: [
              ...old.filter(
                (p) =>
                  p.session !== draft.session ||
                  p.channel !== channel!.id ||
                  p.fixedPoint !== draft.fixedPoint,
              ),
              {
                key: `${draft.session} ${channel!.id} ${draft.fixedPoint} ${found.used.firstSeq}`,
                session: draft.session,
                sessionName: session?.name ?? draft.session,
                channel: channel!.id,
                date: own!.found.date,
                thermometer: own!.found.thermometer,
                fixedPoint: draft.fixedPoint,
                cell: draft.cell,
                found,
              },
            ],
          }))
        }
      />
      <PlateauSetNow set={set} />
    </>
  )
}
