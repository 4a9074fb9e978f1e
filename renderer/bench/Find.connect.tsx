import { useState } from 'react'
import type { ProfileRow } from '../../app/contract/studies.ts'
import type { Bench, BenchInstrument } from '../../app/records/bench.ts'
import { LINK_KIND_WORDS, linkWords } from '../../app/records/link-words.ts'
import type { InstrumentRecord } from '../../app/records/register.ts'
import { useAct } from '../client/act.ts'
import { station } from '../client/connect.ts'
import { Find } from './Find.tsx'
import { type Found, NOTICED, readNetworks, readPorts, type Sighting, toAdd } from './find.model.ts'

/** As many as the station asks at once. */
const MOST_ASKED = 64

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
  const [networks, setNetworks] = useState('')
  const [sighted, setSighted] = useState<readonly Sighting[]>()
  const [found, setFound] = useState<readonly Found[]>()
  const { problem, working, attempt } = useAct()
  const wanted = readPorts(ports)
  const asked = readNetworks(networks)
  const news = toAdd(found ?? [], bench.instruments, profiles, records)
  return (
    <Find
      host={host}
      ports={ports}
      portsProblem={wanted ? undefined : 'Ports such as 5025, 5301-5308; at most 32.'}
      networks={networks}
      networksProblem={asked ? undefined : 'Addresses such as 192.0.2.255; at most eight.'}
      sighted={sighted?.map(({ link, name, told, by }) => ({
        where: `${LINK_KIND_WORDS[link.kind]} ${linkWords(link)}`,
        words: [name, told, NOTICED[by]].filter(Boolean).join(', '),
      }))}
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
      onNetworks={setNetworks}
      onLook={() => {
        void attempt(station.bench.findAround({ announced: true, networks: asked! }), setSighted)
      }}
      onAsk={() => {
        const links = (sighted ?? []).map(({ link }) => link).slice(0, MOST_ASKED)
        void attempt(station.bench.askWho({ links }), setFound)
      }}
      onAdd={() => onAdd(news)}
      onClose={onClose}
    />
  )
}
