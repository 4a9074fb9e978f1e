import { useEffect, useState } from 'react'
import type { ProfileRow } from '../../app/contract/studies.ts'
import type { Bench } from '../../app/records/bench.ts'
import type { Register } from '../../app/records/register.ts'
import { useAct } from '../client/act.ts'
import { station } from '../client/connect.ts'
import { useChoices } from '../client/records.ts'
import { enterNewRecord } from '../desk/new-record.ts'
import { useMay } from '../page/person.ts'
import { useBenchEdit } from './bench.store.ts'
import { type AdviceRow, ChannelEditor } from './ChannelEditor.tsx'
import { type FoundHost, InstrumentEditor, type PortRow, type TryLine } from './InstrumentEditor.tsx'

interface Props {
  bench: Bench
  profiles: { readonly folder: string; readonly rows: readonly ProfileRow[] }
  register: Register | undefined
  roleOf: (profile: string) => string
  problems: Record<string, string>
}

const WANTED_MK = 1

/** The editor of whatever is chosen in the drawing or the table. */
export function EditorNow({ bench, profiles, register, roleOf, problems }: Props) {
  const { selected, act, select } = useBenchEdit()
  const id = selected && 'id' in selected ? selected.id : undefined
  const [ports, setPorts] = useState<readonly PortRow[]>()
  const [hosts, setHosts] = useState<readonly FoundHost[]>()
  const [tried, setTried] = useState<readonly TryLine[]>()
  const [advice, setAdvice] = useState<readonly AdviceRow[]>()
  const { problem, working, attempt, refuse } = useAct()
  const mayEnter = useMay('keep-records')
  // biome-ignore lint/correctness/useExhaustiveDependencies: another choice begins with a clean slate
  useEffect(() => {
    setHosts(undefined)
    setTried(undefined)
    setAdvice(undefined)
    refuse(undefined)
  }, [id])
  const doing = <T,>(words: string, answer: Promise<T>, done: (value: T) => void) =>
    void attempt(answer, done, words)
  const thermometers = useChoices(
    'thermometer',
    bench.channels.map((c) => c.thermometer),
  )
  const resistors = useChoices(
    'resistor',
    bench.channels.map((c) => (c.reference?.kind === 'resistor' ? c.reference.resistor : undefined)),
  )
  const records = useChoices(
    'instrument',
    bench.instruments.map((i) => i.register),
  )
  const instrument = selected?.kind === 'instrument' ? bench.instruments.find((i) => i.id === id) : undefined
  const channel = selected?.kind === 'channel' ? bench.channels.find((c) => c.id === id) : undefined
  if (instrument) {
    const { link } = instrument
    return (
      <InstrumentEditor
        instrument={instrument}
        profiles={profiles.rows}
        profileFolder={profiles.folder}
        records={records.lines}
        recordFinder={records.finder}
        ports={ports}
        hosts={hosts}
        tried={tried}
        working={working}
        problem={problem ?? problems[`instrument/${instrument.id}`]}
        onChange={(part) => act({ do: 'instrument', id: instrument.id, part })}
        onUnset={(field) => act({ do: 'unset-instrument', id: instrument.id, field })}
        onRemove={() => {
          act({ do: 'remove-instrument', id: instrument.id })
          select(null)
        }}
        onNewRecord={
          mayEnter
            ? () =>
                enterNewRecord('instruments', (register) =>
                  act({ do: 'instrument', id: instrument.id, part: { register } }),
                )
            : undefined
        }
        onTry={() => doing('Trying', station.bench.tryInstrument({ instrument }), setTried)}
        onPorts={() => doing('Looking', station.bench.ports(), setPorts)}
        onHosts={() =>
          link.kind === 'tcp' &&
          doing('Looking', station.bench.findHosts({ host: link.host, ports: [link.port] }), setHosts)
        }
      />
    )
  }
  const rangesOf = (instrument: string) => {
    const profile = bench.instruments.find((i) => i.id === instrument)?.profile
    return profiles.rows.find((row) => row.id === profile)?.ranges ?? []
  }
  if (channel) {
    const thermometer = register?.thermometers.find((t) => t.id === channel.thermometer)
    return (
      <ChannelEditor
        channel={channel}
        bench={bench}
        kind={thermometer?.kind}
        thermometers={thermometers}
        resistors={resistors}
        roleOf={roleOf}
        ranges={rangesOf(channel.instrument)}
        problem={problem ?? problems[`channel/${channel.id}`]}
        advice={advice}
        act={act}
        onNew={
          mayEnter
            ? (shelf) =>
                enterNewRecord(shelf, (record) =>
                  act({
                    do: 'channel',
                    id: channel.id,
                    part:
                      shelf === 'thermometers'
                        ? { thermometer: record }
                        : { reference: { kind: 'resistor', resistor: record } },
                  }),
                )
            : undefined
        }
        onAdvise={() =>
          thermometer &&
          doing(
            'Working it out',
            station.bench.adviseResistor({
              thermometer: thermometer.id,
              lowC: thermometer.lowC,
              highC: thermometer.highC,
              wantedMk: WANTED_MK,
            }),
            setAdvice,
          )
        }
      />
    )
  }
  return (
    <p className="faint hint">
      {bench.instruments.length === 0
        ? 'Begin with an instrument: add one, say how it is reached, and try it. Then add a channel for each thermometer.'
        : 'Choose a box in the drawing or a row in the table to change it.'}
    </p>
  )
}
