import { useEffect, useMemo, useState } from 'react'
import type { ChannelView } from '../../app/contract/views.ts'
import type { Bench, Channel } from '../../app/records/bench.ts'
import type { Register } from '../../app/records/register.ts'
import { useAnswer, wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useKept } from '../client/draft.ts'
import { useFluids, useRecords, useStandards } from '../client/records.ts'
import { isWorking, useStation } from '../client/state.ts'
import { sayTurnable, useDesk } from '../client/taking-back.ts'
import { EmptyBench } from '../desk/EmptyBench.connect.tsx'
import { useBackStep } from '../page/hooks.ts'
import { PlaceCommands } from '../page/PlaceCommands.tsx'
import { type Command, say } from '../page/page.ts'
import { Ask } from '../parts/Ask.tsx'
import { BathEditor } from './BathEditor.tsx'
import { BenchPanel } from './Bench.tsx'
import { freeId, lacksFigures, nextChannel } from './bench.model.ts'
import { benchStore, sameBench, useBenchEdit } from './bench.store.ts'
import { ChannelsTable } from './ChannelsTable.tsx'
import { Drawing } from './Drawing.tsx'
import { drawBench } from './drawing.model.ts'
import { EditorNow } from './Editor.connect.tsx'
import { FindNow } from './Find.connect.tsx'
import { LabAsk, type LabScenario } from './LabAsk.tsx'
import { benchProblems } from './problems.ts'

const STILL = { state: 'flat', held: 1 } as const
const NO_PROFILES = { folder: '', rows: [] }
const NOTHING_MEASURED: readonly ChannelView[] = []

/** The first channel is the reference's: what the register alone can mean is chosen already. */
function withStandards(channel: Channel, register: Register | undefined): Channel {
  const [thermometer, another] = register?.thermometers ?? []
  const like = thermometer?.nominalOhm ?? 0
  // The resistor nearest to the thermometer's own size keeps the ratio within every bridge.
  const resistor = register?.resistors.toSorted(
    (a, b) =>
      Math.abs(Math.log(a.nominalOhm / (like || 100))) - Math.abs(Math.log(b.nominalOhm / (like || 100))),
  )[0]
  return {
    ...channel,
    ...(thermometer &&
      !another && { thermometer: thermometer.id, name: thermometer.name, currentMa: thermometer.currentMa }),
    ...(resistor && { reference: { kind: 'resistor', resistor: resistor.id } }),
  }
}

/** A new bench on which nothing stands yet. */
const isUntouched = ({ instruments, channels, bath }: Bench): boolean =>
  instruments.length === 0 && channels.length === 0 && bath === undefined

export default function BenchPlace() {
  const { draft, stored, overtaken, selected, act, arrive, giveUp, restore, takeUp, begin, select } =
    useBenchEdit()
  const version = useStation((state) => state?.versions.bench)
  const links = useStation((state) => state?.links) ?? []
  const running = useStation(isWorking)
  const measuring = useStation((state) => !['idle', 'ended'].includes(state?.runner.phase ?? 'idle'))
  // A session that is over says nothing of the wires of now.
  const channels = useStation((state) => (measuring ? state?.channels : undefined)) ?? NOTHING_MEASURED
  const group = useStation((state) => (measuring ? state?.group : undefined)) ?? STILL
  const saved = useAnswer(() => station.bench.get(), [version])
  const benches = useAnswer(() => station.bench.list(), [version])
  const profiles = useAnswer(() => station.bench.profiles(), [version])
  const fluids = useFluids()
  const standards = useStandards()
  const [working, setWorking] = useState<string>()
  const [problem, setProblem] = useState<string>()
  const [finding, setFinding] = useState(false)
  const [asking, setAsking] = useState(false)
  const [lab, setLab] = useState<LabScenario | null>(null)
  useEffect(() => {
    if (saved.data) arrive(saved.data)
  }, [saved.data, arrive])
  const unsaved = draft !== undefined && !sameBench(draft.now, stored) && !isUntouched(draft.now)
  useKept<{ now: Bench; from?: Bench | undefined }>(
    'bench',
    unsaved ? { now: draft.now, from: stored } : undefined,
    saved.data === null || stored !== undefined,
    ({ now, from }) => takeUp(now, from),
  )
  useBackStep(selected !== null, () => select(null))
  const roleOf = useMemo(() => {
    const roles = new Map(profiles.data?.rows.map((p) => [p.id, p.role]))
    return (profile: string) => roles.get(profile) ?? ''
  }, [profiles.data])
  const bench = draft?.now
  const register = useRecords(
    bench && {
      thermometers: bench.channels.map(({ thermometer }) => thermometer),
      resistors: bench.channels.map(({ reference }) =>
        reference?.kind === 'resistor' ? reference.resistor : undefined,
      ),
      instruments: bench.instruments.map((instrument) => instrument.register),
    },
  )
  const problems = useMemo(
    () =>
      bench
        ? benchProblems(bench, {
            roleOf,
            kindOf: (id) => register.data?.thermometers.find((t) => t.id === id)?.kind,
          })
        : {},
    [bench, roleOf, register.data],
  )
  const drawing = useMemo(
    () =>
      bench &&
      drawBench({
        bench,
        roleOf,
        links,
        channels,
        resistorName: (id) => register.data?.resistors.find((r) => r.id === id)?.name ?? id,
        problems,
      }),
    [bench, roleOf, links, channels, register.data, problems],
  )
  useDesk({
    id: 'bench',
    undoWords: draft?.past.at(-1)?.words,
    redoWords: draft?.future[0]?.words,
    undo: () => act({ do: 'undo' }),
    redo: () => act({ do: 'redo' }),
  })
  if (!bench || !drawing)
    return saved.data === undefined && saved.problem === undefined ? null : <EmptyBench />
  const doing = <T,>(words: string, answer: Promise<T>, done: (value: T) => void) => {
    setWorking(words)
    setProblem(undefined)
    answer.then(done, (fault) => setProblem(wordsOf(fault))).finally(() => setWorking(undefined))
  }
  const next = nextChannel(bench, roleOf)
  const changed = !sameBench(bench, stored)
  /** Another bench would put what is not saved out of sight. */
  const unlessChanged = (go: () => void) => () =>
    changed ? setProblem('This bench is not saved yet. Save it first, or take back what was changed.') : go()
  /** Another bench becomes the one in use; the one before can be had back. */
  const changeTo = (words: string, answer: Promise<{ words: string }>) =>
    doing(words, answer, (done) => {
      if (!stored) return say(done.words)
      let next: string | undefined
      sayTurnable('bench', done.words, {
        words: `the change from ${stored.name} to another bench`,
        back: async () => {
          next = benchStore.getState().stored?.id
          await station.bench.choose({ id: stored.id })
        },
        again: async () => next && station.bench.choose({ id: next }),
      })
    })
  const openLinks = () =>
    doing('Opening the links', station.bench.connect(), () =>
      say('Every link was tried; the drawing shows which answer.'),
    )
  const save = () =>
    doing('Saving', station.bench.save({ bench }), ({ words }) => {
      // What was saved is the new beginning: one step back is now the save itself.
      arrive(bench)
      // What was saved is connected and read at once: numbers need no session.
      if (!running)
        void station.bench.look().then(
          (looked) => say(looked.words),
          (fault) => setProblem(wordsOf(fault)),
        )
      if (!stored || stored.id !== bench.id) return say(words)
      sayTurnable('bench', words, {
        words: `the save of ${bench.name}`,
        back: () => station.bench.save({ bench: stored, why: 'taken back' }),
        again: () => station.bench.save({ bench, why: 'done again' }),
      })
    })
  const saveAsked = () => (bench.bath && lacksFigures(bench.bath) ? setAsking(true) : save())
  const addInstrument = () => {
    const id = freeId(
      'instrument',
      bench.instruments.map((i) => i.id),
    )
    act({
      do: 'add-instrument',
      instrument: {
        id,
        name: 'New instrument',
        profile: profiles.data?.rows[0]?.id ?? 'profile',
        link: { kind: 'tcp', host: '127.0.0.1', port: 5025 },
      },
    })
    select({ kind: 'instrument', id })
  }
  const addChannel = () => {
    if (!next) return
    act({
      do: 'add-channel',
      channel: bench.channels.length === 0 ? withStandards(next, standards.data) : next,
    })
    select({ kind: 'channel', id: next.id })
  }
  const putAway = () => {
    const kept = draft
    giveUp()
    sayTurnable('bench', `${bench.name} is put away as it was edited.`, {
      words: `the putting away of ${bench.name}`,
      back: async () => kept && restore(kept),
      again: async () => giveUp(),
    })
  }
  const commands: Command[] = [
    { id: 'bench-instrument', words: 'Add an instrument', group: 'Bench', run: addInstrument },
    ...(next ? [{ id: 'bench-channel', words: 'Add a channel', group: 'Bench', run: addChannel }] : []),
    { id: 'bench-links', words: 'Open the links', group: 'Bench', run: openLinks },
    ...(changed ? [{ id: 'bench-save', words: 'Save the bench', group: 'Bench', run: saveAsked }] : []),
  ]
  return (
    <>
      <PlaceCommands owner="bench" commands={commands} />
      {lab && (
        <LabAsk
          scenario={lab}
          onScenario={setLab}
          onClose={() => setLab(null)}
          onStart={() => {
            setLab(null)
            changeTo('Starting the lab in a box', station.bench.startLab({ scenario: lab }))
          }}
        />
      )}
      {asking && (
        <Ask
          title="The bath's figures are not entered"
          act="Save without them"
          onClose={() => setAsking(false)}
          onAct={() => {
            setAsking(false)
            save()
          }}
        >
          <p>
            Uniformity or stability of the bath is missing. Budgets will have nothing for it, and the results
            will look better than they are. Both can still be entered before results are signed.
          </p>
        </Ask>
      )}
      <BenchPanel
        name={bench.name}
        scanEveryS={bench.scanEveryS}
        benches={benches.data ?? []}
        current={bench.id}
        changed={changed}
        aside={
          overtaken
            ? 'The station has another state of the bench than this edit began with. Saving puts yours in its place.'
            : stored && stored.id !== bench.id
              ? 'This is a new bench that is not saved yet.'
              : undefined
        }
        onGiveUp={putAway}
        canUndo={(draft?.past.length ?? 0) > 0}
        canRedo={(draft?.future.length ?? 0) > 0}
        running={running}
        problem={problem ?? problems.bench}
        working={working}
        canAddChannel={next !== undefined}
        onName={(name) => act({ do: 'name', name })}
        onScan={(scanEveryS) => act({ do: 'scan', scanEveryS })}
        onChoose={(id) => unlessChanged(() => changeTo('Changing the bench', station.bench.choose({ id })))()}
        onNew={unlessChanged(begin)}
        onLab={unlessChanged(() => setLab('demo'))}
        onSave={saveAsked}
        onUndo={() => act({ do: 'undo' })}
        onRedo={() => act({ do: 'redo' })}
        onConnect={openLinks}
        onDisconnect={() => doing('Closing the links', station.bench.disconnect(), ({ words }) => say(words))}
        onFind={() => setFinding(!finding)}
        find={
          (finding || bench.instruments.length === 0) && (
            <FindNow
              bench={bench}
              profiles={profiles.data?.rows ?? []}
              records={register.data?.instruments ?? []}
              onAdd={(instruments) => {
                for (const instrument of instruments) act({ do: 'add-instrument', instrument })
                setFinding(false)
              }}
              onClose={() => setFinding(false)}
            />
          )
        }
        onAddInstrument={addInstrument}
        onAddChannel={addChannel}
        drawing={<Drawing drawing={drawing} selected={selected} onSelect={select} water={group} />}
        editor={
          <EditorNow
            bench={bench}
            profiles={profiles.data ?? NO_PROFILES}
            register={register.data}
            roleOf={roleOf}
            problems={problems}
          />
        }
        bath={
          <BathEditor
            bench={bench}
            fluids={fluids.data?.fluids ?? []}
            roleOf={roleOf}
            problem={problems.bath}
            onChange={(bath) => act({ do: 'bath', bath })}
          />
        }
        table={
          <ChannelsTable
            bench={bench}
            register={register.data}
            problems={problems}
            selected={selected}
            onSelect={select}
          />
        }
      />
    </>
  )
}
