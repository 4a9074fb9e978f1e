import { describe, expect, it } from 'vitest'
import type { Bench } from '../../../app/records/bench.ts'
import { drawBench } from '../../../renderer/bench/drawing.model.ts'
import { makeBench } from '../../browser/fake/records.ts'

const roleOf = (profile: string) =>
  ({ 'lab-rb-8': 'ratio-bridge', 'lab-cs-16': 'scanner', 'lab-tb-2': 'bath' })[profile] ?? ''
const draw = (bench: Bench) =>
  drawBench({ bench, roleOf, links: [], channels: [], resistorName: (id) => id, problems: {} })

describe('drawBench', () => {
  it('joins every thermometer over scanner and bridge to its resistor', () => {
    const { nodes, wires } = draw(makeBench(3))
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
    const { nodes, rows } = draw(makeBench(96))
    expect(nodes.filter((n) => n.kind === 'crowd').map((n) => n.title)).toEqual(['96 thermometers'])
    expect(rows).toBeLessThan(5)
  })

  it('puts scanners in series side by side, the one next to the bridge last', () => {
    const bench = makeBench(2)
    const scanner = bench.instruments.find((i) => i.id === 'scanner')!
    bench.instruments.push({ ...scanner, id: 'far', name: 'Far' })
    bench.channels[1]!.route = [
      { scanner: 'scanner', input: 9 },
      { scanner: 'far', input: 4 },
    ]
    const { nodes, wires, columns } = draw(bench)
    const column = (id: string) => nodes.find((n) => n.id === id)!.column
    expect([column('instrument/far'), column('instrument/scanner'), column('instrument/bridge')]).toEqual([
      1, 2, 3,
    ])
    expect(columns).toBe(5)
    expect(wires.map(({ from, to }) => `${from} ${to}`)).toEqual(
      expect.arrayContaining([
        'channel/ch-1 instrument/scanner',
        'channel/ch-2 instrument/far',
        'instrument/far instrument/scanner',
      ]),
    )
    expect(nodes.find((n) => n.id === 'channel/ch-2')!.words).toBe('input 4')
  })

  it('draws a standard thermometer where the resistor would stand, and how a junction is kept', () => {
    const bench = makeBench(3)
    bench.channels[1]!.reference = { kind: 'channel', channel: 'ch-1' }
    bench.channels[2]!.junction = { kind: 'channel', channel: 'ch-1' }
    const { nodes, wires } = draw(bench)
    const standard = nodes.find((n) => n.kind === 'standard')!
    expect(standard).toMatchObject({
      title: bench.channels[0]!.name,
      select: { kind: 'channel', id: 'ch-1' },
    })
    expect(wires).toContainEqual({ from: 'instrument/bridge', to: standard.id, state: 'idle' })
    expect(wires).toContainEqual({ from: 'channel/ch-3', to: 'channel/ch-1', state: 'junction' })
    expect(nodes.find((n) => n.id === 'channel/ch-3')!.words).toContain(
      `junction by ${bench.channels[0]!.name}`,
    )
  })
})
