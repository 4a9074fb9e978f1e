import { describe, expect, it } from 'vitest'
import { Bench } from '../../../app/records/bench.ts'
import { benchChange } from '../../../renderer/bench/bench.change.ts'
import {
  type BenchAct,
  benchReduce,
  channelsToFollow,
  freeId,
  junctionKind,
  junctionOf,
  lacksFigures,
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

  it('forgets a serial number and a record that no longer hold', () => {
    let bench = benchReduce(makeBench(1), { do: 'instrument', id: 'bridge', part: { serial: '7' } })
    bench = benchReduce(bench, { do: 'unset-instrument', id: 'bridge', field: 'serial' })
    expect(bench.instruments.find((i) => i.id === 'bridge')).not.toHaveProperty('serial')
  })
})

describe('lacksFigures', () => {
  it('asks for uniformity and stability of a bath, which begin empty, unless a survey knows the uniformity', () => {
    const bath = makeBench(1).bath!
    expect(lacksFigures({ ...bath, uniformityMk: 1.5, stabilityMk: 0.5 }, 0)).toBe(false)
    expect(lacksFigures({ ...bath, uniformityMk: 0, stabilityMk: 0.5 }, 0)).toBe(true)
    expect(lacksFigures({ ...bath, uniformityMk: 1.5, stabilityMk: 0 }, 0)).toBe(true)
    expect(lacksFigures({ ...bath, uniformityMk: 0, stabilityMk: 0.5 }, 1)).toBe(false)
  })
})

describe('benchChange', () => {
  const bench = makeBench(2)
  const words = (act: BenchAct) => benchChange(bench, act).words

  it('names what an edit touches', () => {
    const name = bench.channels[1]!.name
    expect(words({ do: 'channel', id: 'ch-2', part: { currentMa: 2 } })).toBe(
      `the measuring current of ${name}`,
    )
    expect(words({ do: 'remove-channel', id: 'ch-2' })).toBe(`the channel ${name} removed`)
    expect(words({ do: 'bath', bath: { ...bench.bath!, highC: 90 } })).toBe('the upper limit of the bath')
    expect(words({ do: 'bath', bath: undefined })).toBe('the bath')
  })

  it('joins what is typed and keeps apart what is chosen', () => {
    const typed = benchChange(bench, { do: 'channel', id: 'ch-2', part: { currentMa: 2 } }).typing
    expect(typed).toBeDefined()
    expect(benchChange(bench, { do: 'unset-channel', id: 'ch-2', field: 'keepWarmMa' }).typing).not.toBe(
      typed,
    )
    expect(benchChange(bench, { do: 'channel', id: 'ch-2', part: { role: 'check' } }).typing).toBeUndefined()
  })
})

describe('junctionOf', () => {
  it('makes each kind as the record keeps it, with the uncertainty that was entered', () => {
    const old = { kind: 'fixed', celsius: 0, uK: 0.02 } as const
    expect(junctionKind(old)).toBe('ice')
    expect(junctionOf('fixed', old, undefined)).toEqual({ kind: 'fixed', celsius: 23, uK: 0.02 })
    expect(junctionOf('channel', old, 'air')).toEqual({ kind: 'channel', channel: 'air', uK: 0.02 })
    expect(junctionOf('compensated', old, undefined)).toEqual({ kind: 'compensated', uK: 0.02 })
    expect(junctionOf('channel', old, undefined)).toBeUndefined()
    for (const kind of ['ice', 'fixed', 'channel', 'compensated'] as const) {
      const junction = junctionOf(kind, old, 'ch-1')!
      expect(junctionKind(junction)).toBe(kind)
      const bench = makeBench(2)
      bench.channels[1]!.junction = junction
      expect(Bench.parse(JSON.parse(JSON.stringify(bench))).channels[1]!.junction).toEqual(junction)
    }
  })

  it('leaves benches of old as they are', () => {
    const bench = makeBench(1)
    bench.channels[0]!.junction = { kind: 'fixed', celsius: 0 }
    expect(Bench.parse(JSON.parse(JSON.stringify(bench)))).toEqual(bench)
  })
})

describe('channelsToFollow', () => {
  it('leaves out the channel itself and all that is in the end measured against it', () => {
    const bench = makeBench(4)
    bench.channels[1]!.reference = { kind: 'channel', channel: 'ch-1' }
    bench.channels[2]!.junction = { kind: 'channel', channel: 'ch-2' }
    const ids = (id: string) => channelsToFollow(bench, id).map((c) => c.id)
    expect(ids('ch-1')).toEqual(['ch-4'])
    expect(ids('ch-3')).toEqual(['ch-1', 'ch-2', 'ch-4'])
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

describe('freeId', () => {
  it('counts up until nobody has it', () => {
    expect(freeId('ch', ['ch', 'ch-2'])).toBe('ch-3')
  })
})
