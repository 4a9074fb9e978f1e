import { useState } from 'react'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useChoices, useFluids, useRecords, useStandards } from '../client/records.ts'
import { EmptyBench } from '../desk/EmptyBench.connect.tsx'
import { enterNewRecord } from '../desk/new-record.ts'
import { SurveysNow } from '../desk/Surveys.connect.tsx'
import { PlaceCommands } from '../page/PlaceCommands.tsx'
import { goTo } from '../page/page.ts'
import { useMay } from '../page/person.ts'
import { Problem } from '../parts/Problem.tsx'
import { BathEditor } from './BathEditor.tsx'
import { BenchPanel } from './Bench.tsx'
import { benchCommands } from './bench.commands.ts'
import { asideOf, lacksFigures } from './bench.model.ts'
import { ChannelsTable } from './ChannelsTable.tsx'
import { Drawing } from './Drawing.tsx'
import { EditorNow } from './Editor.connect.tsx'
import { FiguresAsk } from './FiguresAsk.tsx'
import { FindNow } from './Find.connect.tsx'
import { LabAsk, type LabScenario } from './LabAsk.tsx'
import { useBenchAround, useEditedBench } from './use-bench.ts'
import { useBenchActs, useBenchEdits } from './use-bench-acts.ts'

const NO_PROFILES = { folder: '', rows: [] }

export default function BenchPlace() {
  const { bench, known, version, draft, stored, overtaken, selected, act, begin, select } = useEditedBench()
  const { profiles, unread, register, problems, drawing, roleOf, running, group } = useBenchAround(
    bench,
    version,
  )
  const benches = useAnswer(() => station.bench.list(), [version])
  const fluids = useFluids()
  const mayEnter = useMay('keep-records')
  const standards = useStandards()
  const bathEntry = bench?.bath?.register
  const baths = useChoices('bath', [bathEntry])
  const surveyed = useRecords({ baths: [bathEntry] }).data?.baths?.[0]?.surveys?.length ?? 0
  const { changed, working, problem, ...acts } = useBenchActs(bench, running)
  const edits = useBenchEdits(bench, roleOf, {
    firstProfile: profiles?.rows[0]?.id,
    standards: standards.data,
  })
  const [finding, setFinding] = useState(false)
  const [asking, setAsking] = useState(false)
  const [lab, setLab] = useState<LabScenario | null>(null)
  if (!bench) return known ? <EmptyBench /> : null
  if (!drawing) return <Problem words={unread} />
  const saveAsked = () => (bench.bath && lacksFigures(bench.bath, surveyed) ? setAsking(true) : acts.save())
  return (
    <>
      <PlaceCommands
        owner="bench"
        commands={benchCommands({
          addInstrument: edits.addInstrument,
          addChannel: edits.next && edits.addChannel,
          openLinks: acts.openLinks,
          save: changed ? saveAsked : undefined,
        })}
      />
      {lab && (
        <LabAsk
          scenario={lab}
          onScenario={setLab}
          onClose={() => setLab(null)}
          onStart={() => {
            setLab(null)
            acts.changeTo('Starting the lab in a box', station.bench.startLab({ scenario: lab }))
          }}
        />
      )}
      {asking && (
        <FiguresAsk
          onClose={() => setAsking(false)}
          onSave={() => {
            setAsking(false)
            acts.save()
          }}
        />
      )}
      <BenchPanel
        name={bench.name}
        scanEveryS={bench.scanEveryS}
        benches={benches.data ?? []}
        current={bench.id}
        changed={changed}
        aside={asideOf(bench, stored, overtaken)}
        onGiveUp={edits.putAway}
        canUndo={(draft?.past.length ?? 0) > 0}
        canRedo={(draft?.future.length ?? 0) > 0}
        running={running}
        problem={problem ?? problems.bench}
        working={working}
        canAddChannel={edits.next !== undefined}
        onName={(name) => act({ do: 'name', name })}
        onScan={(scanEveryS) => act({ do: 'scan', scanEveryS })}
        onChoose={(id) =>
          acts.unlessChanged(() => acts.changeTo('Changing the bench', station.bench.choose({ id })))()
        }
        onNew={acts.unlessChanged(begin)}
        onLab={acts.unlessChanged(() => setLab('demo'))}
        onSave={saveAsked}
        onUndo={() => act({ do: 'undo' })}
        onRedo={() => act({ do: 'redo' })}
        onConnect={acts.openLinks}
        onDisconnect={acts.closeLinks}
        onFind={() => setFinding(!finding)}
        find={
          (finding || bench.instruments.length === 0) && (
            <FindNow
              bench={bench}
              profiles={profiles?.rows ?? []}
              records={register?.instruments ?? []}
              onAdd={(instruments) => {
                for (const instrument of instruments) act({ do: 'add-instrument', instrument })
                setFinding(false)
              }}
              onClose={() => setFinding(false)}
            />
          )
        }
        onAddInstrument={edits.addInstrument}
        onAddChannel={edits.addChannel}
        drawing={<Drawing drawing={drawing} selected={selected} onSelect={select} water={group} />}
        editor={
          <EditorNow
            bench={bench}
            profiles={profiles ?? NO_PROFILES}
            register={register}
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
            entries={baths.lines.map(({ id, name }) => ({ id, name }))}
            surveyed={surveyed}
            surveys={bathEntry !== undefined && <SurveysNow bath={bathEntry} />}
            onLife={(id) => goTo('register', ['baths', id])}
            onNewFluid={
              mayEnter && bench.bath
                ? () =>
                    enterNewRecord('fluids', (fluid) => act({ do: 'bath', bath: { ...bench.bath!, fluid } }))
                : undefined
            }
            onChange={(bath) => act({ do: 'bath', bath })}
          />
        }
        table={
          <ChannelsTable
            bench={bench}
            register={register}
            problems={problems}
            selected={selected}
            onSelect={select}
          />
        }
      />
    </>
  )
}
