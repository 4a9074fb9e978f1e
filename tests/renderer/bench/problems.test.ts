import { describe, expect, it } from 'vitest'
import type { LinkSpec } from '../../../app/records/bench.ts'
import { benchReduce } from '../../../renderer/bench/bench.model.ts'
import { benchProblems } from '../../../renderer/bench/problems.ts'
import { readyBench } from '../../../simulator/paperwork/bench.ts'
import { SCENARIOS } from '../../../simulator/scenarios/index.ts'
import { makeBench } from '../../browser/fake/records.ts'

const ROLES: Record<string, string> = {
  'lab-rb-8': 'ratio-bridge',
  'lab-rb-3': 'ratio-bridge',
  'lab-dm-7': 'meter',
  'lab-cs-16': 'scanner',
  'lab-cs-32': 'scanner',
  'lab-tb-2': 'bath',
  'lab-tb-1': 'bath',
  'lab-es-1': 'environment',
}
const roleOf = (profile: string) => ROLES[profile] ?? ''
const problemsOf = (bench: ReturnType<typeof makeBench>) => benchProblems(bench, { roleOf })

describe('benchProblems', () => {
  it('says nothing of a bench that is right', () => {
    expect(problemsOf(makeBench(4))).toEqual({})
  })

  it.each(Object.keys(SCENARIOS))('says nothing of the lab in a box, %s', (name) => {
    const scenario = SCENARIOS[name as keyof typeof SCENARIOS]
    const links = new Map(
      scenario.instruments.map(({ id }, i): [string, LinkSpec] => [
        id,
        { kind: 'tcp', host: '127.0.0.1', port: 5301 + i },
      ]),
    )
    expect(problemsOf(readyBench(scenario, links))).toEqual({})
  })

  it('says where an input is taken twice, a reference is missing and a safe setpoint lies outside', () => {
    let bench = makeBench(3)
    bench = benchReduce(bench, {
      do: 'channel',
      id: 'ch-2',
      part: { route: [{ scanner: 'scanner', input: 1 }] },
    })
    bench = benchReduce(bench, { do: 'unset-channel', id: 'ch-3', field: 'reference' })
    bench = benchReduce(bench, { do: 'bath', bath: { ...bench.bath!, safeC: 500 } })
    const problems = problemsOf(bench)
    expect(problems['channel/ch-2']).toContain('already sits on input 1')
    expect(problems['channel/ch-3']).toContain('a resistor, or the thermometer of another channel')
    expect(problems.bath).toContain('within the limits')
  })

  it('lets what is in one case share a line, and nothing else', () => {
    const bench = makeBench(1)
    const [first] = bench.instruments
    const beside = (id: string, profile: string) => {
      const problems = problemsOf({
        ...bench,
        instruments: [...bench.instruments, { ...first!, id, name: id, profile }],
      })
      return problems[`instrument/${id}`]
    }
    expect(beside('probe', `${first!.profile}/probe`)).toBeUndefined()
    expect(beside('twin', first!.profile)).toContain('the same address')
    expect(beside('other', 'lab-dm-7')).toContain('the same address')
  })

  it('says where scanners in series contradict one another', () => {
    const bench = makeBench(4)
    const second = { ...bench.instruments.find((i) => i.id === 'scanner')!, id: 'far', name: 'Far' }
    bench.instruments.push({ ...second, link: { kind: 'tcp', host: '127.0.0.1', port: 9 } })
    bench.channels[1]!.route = [
      { scanner: 'scanner', input: 16 },
      { scanner: 'far', input: 1 },
    ]
    expect(problemsOf(bench)).toEqual({})
    const other = structuredClone(bench)
    other.channels[2]!.route = [
      { scanner: 'scanner', input: 15 },
      { scanner: 'far', input: 2 },
    ]
    expect(problemsOf(other)['channel/ch-3']).toContain('It has one output.')
    const taken = structuredClone(bench)
    taken.channels[3]!.route = [{ scanner: 'scanner', input: 16 }]
    expect(problemsOf(taken)['channel/ch-4']).toContain('Far already sits on input 16')
    const twice = structuredClone(bench)
    twice.channels[1]!.route.push({ scanner: 'far', input: 2 })
    expect(problemsOf(twice)['channel/ch-2']).toContain('stands twice')
  })

  it('says where what a channel is measured against is gone, switched off, or itself', () => {
    const bench = makeBench(3)
    bench.channels[1]!.reference = { kind: 'channel', channel: 'ch-1' }
    expect(problemsOf(bench)).toEqual({})
    const against = (change: (b: typeof bench) => void) => {
      const changed = structuredClone(bench)
      change(changed)
      return problemsOf(changed)['channel/ch-2']
    }
    expect(against((b) => b.channels.splice(0, 1))).toContain('not on this bench any more')
    expect(
      against((b) => {
        b.channels[0]!.enabled = false
      }),
    ).toContain('Switch it on')
    expect(
      against((b) => {
        b.channels[0]!.reference = { kind: 'channel', channel: 'ch-2' }
      }),
    ).toContain('in the end measured against')
  })

  it('asks how the reference junction of a thermocouple is kept', () => {
    const bench = makeBench(2)
    const known = {
      roleOf,
      kindOf: (id: string) => (id === bench.channels[1]!.thermometer ? ('thermocouple' as const) : undefined),
    }
    expect(benchProblems(bench, known)['channel/ch-2']).toContain('reference junction')
    bench.channels[1]!.junction = { kind: 'compensated' }
    expect(benchProblems(bench, known)).toEqual({})
  })

  it('asks for a host where there is none', () => {
    const bench = makeBench(1)
    bench.instruments[0]!.link = { kind: 'tcp', host: '', port: 1 }
    expect(problemsOf(bench)[`instrument/${bench.instruments[0]!.id}`]).toContain('A host is needed')
  })
})
