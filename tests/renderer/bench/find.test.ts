import { describe, expect, it } from 'vitest'
import { InstrumentRecord } from '../../../app/records/register.ts'
import { readNetworks, readPorts, toAdd } from '../../../renderer/bench/find.model.ts'

const PROFILES = [
  {
    id: 'lab-rb-8',
    title: 'Ratio bridge',
    role: 'ratio-bridge',
    links: [],
    from: 'program' as const,
    problem: null,
    ranges: [],
  },
  {
    id: 'lab-tb-2',
    title: 'Bath',
    role: 'bath',
    links: [],
    from: 'program' as const,
    problem: null,
    ranges: [],
  },
]
const at = (port: number, identity: string, profile: string | null) => ({
  link: { kind: 'tcp' as const, host: '127.0.0.1', port },
  identity,
  profile,
})

describe('readPorts', () => {
  it('reads single ports and ranges, and refuses what is none', () => {
    expect(readPorts('5025, 5301-5303;7000')).toEqual([5025, 5301, 5302, 5303, 7000])
    expect(readPorts('')).toBeUndefined()
    expect(readPorts('bridge')).toBeUndefined()
    expect(readPorts('1-40')).toBeUndefined()
    expect(readPorts('70000')).toBeUndefined()
  })
})

describe('toAdd', () => {
  it('names what answered by its identity and finds its record by the serial number', () => {
    const record = InstrumentRecord.parse({ id: 'r-1', name: 'Bridge', role: 'ratio-bridge', serial: '0817' })
    const added = toAdd(
      [
        at(5301, 'QUENNICK,RB-8,0817,1.3', 'lab-rb-8'),
        at(5305, 'QUENNICK,TB-2,0,2.0', 'lab-tb-2'),
        at(5306, 'X,Y,1,1', null),
      ],
      [],
      PROFILES,
      [record],
    )
    expect(added.map(({ id, name, register }) => [id, name, register])).toEqual([
      ['bridge', 'Ratio bridge RB-8 0817', 'r-1'],
      ['bath', 'Bath TB-2', undefined],
    ])
  })

  it('brings along what else is in the same case', () => {
    const probe = { ...PROFILES[1]!, id: 'lab-tb-2/probe', role: 'meter' }
    const added = toAdd([at(5305, 'QUENNICK,TB-2,11,2.0', 'lab-tb-2')], [], [...PROFILES, probe], [])
    expect(added.map(({ id, name, profile, serial }) => [id, name, profile, serial])).toEqual([
      ['bath', 'Bath TB-2 11', 'lab-tb-2', '11'],
      ['meter', 'Meter TB-2 11', 'lab-tb-2/probe', '11'],
    ])
    expect(added[0]!.link).toEqual(added[1]!.link)
  })

  it('adds nothing twice', () => {
    const [first] = toAdd([at(5301, 'QUENNICK,RB-8,0817,1.3', 'lab-rb-8')], [], PROFILES, [])
    expect(toAdd([at(5301, 'QUENNICK,RB-8,0817,1.3', 'lab-rb-8')], [first!], PROFILES, [])).toEqual([])
  })
})

describe('networks as they are typed', () => {
  it('are addresses, none or several, and nothing else', () => {
    expect(readNetworks('')).toEqual([])
    expect(readNetworks('192.0.2.255, 198.51.100.255 192.0.2.255')).toEqual(['192.0.2.255', '198.51.100.255'])
    expect(readNetworks('192.0.2.256')).toBeUndefined()
    expect(readNetworks('everywhere')).toBeUndefined()
    expect(readNetworks(Array.from({ length: 9 }, (_each, i) => `10.0.${i}.255`).join(' '))).toBeUndefined()
  })
})
