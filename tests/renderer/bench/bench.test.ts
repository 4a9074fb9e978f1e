import { describe, expect, it } from 'vitest'
import {
  benchProblems,
  benchReduce,
  drawBench,
  freeId,
  newBench,
  nextChannel,
} from '../../../renderer/bench/bench.model.ts'
import { makeBench } from '../../browser/fake/records.ts'

const roleOf = (profile: string) =>
  ({ 'lab-rb-8': 'ratio-bridge', 'lab-cs-16': 'scanner', 'lab-tb-2': 'bath' })[profile] ?? ''

describe('benchReduce', () => {
  it('takes an instrument off together with what hung on it', () => {
    const bench = makeBench(3)
    const without = benchReduce(bench, { do: 'remove-instrument', id: 'scanner' })
    expect(without.channels.every((c) => c.route.length === 0)).toBe(true)
    expect(benchReduce(bench, { do: 'remove-instrument', id: 'bridge' }).channels).toEqual([])
  })
})

describe('nextChannel', () => {
  it('goes on with the next scanner input and needs a bridge or meter to begin', () => {
    expect(nextChannel(newBench('b'), roleOf)).toBeUndefined()
    const next = nextChannel(makeBench(2), roleOf)!
    expect(next).toMatchObject({ id: 'ch', role: 'under-test', route: [{ scanner: 'scanner', input: 3 }] })
    expect(next.thermometer).toBeUndefined()
  })
})

describe('benchProblems', () => {
  it('says nothing of a bench that is right', () => {
    expect(benchProblems(makeBench(4), roleOf)).toEqual({})
  })

  it('says where an input is taken twice, a resistor is missing and a safe setpoint lies outside', () => {
    let bench = makeBench(3)
    bench = benchReduce(bench, {
      do: 'channel',
      id: 'ch-2',
      part: { route: [{ scanner: 'scanner', input: 1 }] },
    })
    bench = benchReduce(bench, { do: 'unset-channel', id: 'ch-3', field: 'reference' })
    bench = benchReduce(bench, { do: 'bath', bath: { ...bench.bath!, safeC: 500 } })
    const problems = benchProblems(bench, roleOf)
    expect(problems['channel/ch-2']).toContain('already sits on this input')
    expect(problems['channel/ch-3']).toContain('reference resistor')
    expect(problems.bath).toContain('within the limits')
  })
})

describe('drawBench', () => {
  const draw = (n: number) => drawBench(makeBench(n), roleOf, [], [], (id) => id, {})

  it('joins every thermometer over scanner and bridge to its resistor', () => {
    const { nodes, wires } = draw(3)
    expect(nodes.map((n) => n.kind)).toEqual([
      'thermometer',
      'thermometer',
      'thermometer',
      'meter',
      'scanner',
      'bath',
      'resistor',
    ])
    expect(wires).toHaveLength(5)
    for (const { from, to } of wires)
      expect(nodes.map((n) => n.id)).toEqual(expect.arrayContaining([from, to]))
  })

  it('draws a crowd of thermometers as one', () => {
    const { nodes, rows } = draw(96)
    expect(nodes.filter((n) => n.kind === 'crowd').map((n) => n.title)).toEqual(['96 thermometers'])
    expect(rows).toBeLessThan(5)
  })
})

describe('freeId', () => {
  it('counts up until nobody has it', () => {
    expect(freeId('ch', ['ch', 'ch-2'])).toBe('ch-3')
  })
})
