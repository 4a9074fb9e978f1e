import { useState } from 'react'
import type { ProfileRow } from '../../app/contract/studies.ts'
import type { Bench, BenchInstrument } from '../../app/records/bench.ts'
import { linkWords } from '../../app/records/link-words.ts'
import type { InstrumentRecord } from '../../app/records/register.ts'
import { useAct } from '../client/act.ts'
import { station } from '../client/connect.ts'
import { Find } from './Find.tsx'
import { type Found, readPorts, toAdd } from './find.model.ts'

interface Props {
  bench: Bench
  profiles: readonly ProfileRow[]
  records: readonly InstrumentRecord[]
  onAdd: (instruments: readonly BenchInstrument[]) => void
  onClose: () => void
}

export function FindNow({ bench, profiles, records, onAdd, onClose }: Props) {
  const [host, setHost] = useState('127.0.0.1')
  const [ports, setPorts] = useState('5025, 5301-5308')
  const [found, setFound] = useState<readonly Found[]>()
  const { problem, working, attempt } = useAct()
  const wanted = readPorts(ports)
  const news = toAdd(found ?? [], bench.instruments, profiles, records)
  return (
    <Find
      host={host}
      ports={ports}
      portsProblem={wanted ? undefined : 'Ports such as 5025, 5301-5308; at most 32.'}
      searching={working !== undefined}
      found={found?.map(({ link, identity, profile }) => ({
        where: linkWords(link),
        identity,
        known: profile !== null,
      }))}
      news={news.length}
      problem={problem}
      onHost={setHost}
      onPorts={setPorts}
      onSearch={() => {
        void attempt(station.bench.findHosts({ host, ports: wanted! }), setFound)
      }}
      onAdd={() => onAdd(news)}
      onClose={onClose}
    />
  )
}
