import { useState } from 'react'
import type { ProfileRow } from '../../app/contract/studies.ts'
import type { Bench, BenchInstrument } from '../../app/records/bench.ts'
import { linkWords } from '../../app/records/link-words.ts'
import type { InstrumentRecord } from '../../app/records/register.ts'
import { wordsOf } from '../client/ask.ts'
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
  const [searching, setSearching] = useState(false)
  const [problem, setProblem] = useState<string>()
  const wanted = readPorts(ports)
  const news = toAdd(found ?? [], bench.instruments, profiles, records)
  return (
    <Find
      host={host}
      ports={ports}
      portsProblem={wanted ? undefined : 'Ports such as 5025, 5301-5308; at most 32.'}
      searching={searching}
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
        setSearching(true)
        setProblem(undefined)
        station.bench
          .findHosts({ host, ports: wanted! })
          .then(setFound, (fault) => setProblem(wordsOf(fault)))
          .finally(() => setSearching(false))
      }}
      onAdd={() => onAdd(news)}
      onClose={onClose}
    />
  )
}
