import { expect, it } from 'vitest'
import { type AnyInstrument, InstrumentError, type LinkStatus } from '../../app/instruments/faces.ts'
import { said } from '../../app/messages/said.ts'
import { Bench, type BenchInstrument } from '../../app/records/bench.ts'
import { Links } from '../../main/station/links.ts'
import { Signal } from '../../main/station/signals.ts'

/** Instruments that write down what is done with them; those of the profile 'broken' cannot be made. */
function links() {
  const done: string[] = []
  const statuses = new Map<string, Signal<LinkStatus>>()
  let broken = true
  let changes = 0
  const make = (spec: BenchInstrument): AnyInstrument => {
    if (spec.profile === 'broken' && broken)
      throw new InstrumentError(
        'refused',
        spec.id,
        said('sentence', { words: 'The profile has an error in line 3' }),
      )
    const status = new Signal<LinkStatus>()
    const lines = new Signal<{ at: { utcUs: number; monoUs: number }; way: 'sent'; text: string }>()
    statuses.set(spec.id, status)
    const instrument = {
      id: spec.id,
      profile: spec.profile,
      role: 'meter',
      identity: { raw: `The ${spec.id}` },
      status: { state: 'ready', words: 'ready', exchanges: 5, faults: 2 },
      open: () => {
        done.push(`open ${spec.id}`)
        return spec.profile === 'dead' ? Promise.reject(new Error('no answer')) : Promise.resolve()
      },
      close: () => {
        done.push(`close ${spec.id} ${status.size}`)
        return Promise.resolve()
      },
      onDidChangeStatus: (listener: (status: LinkStatus) => void) => status.on(listener),
      onTraffic: (listener: () => void) => lines.on(listener),
    }
    return instrument as unknown as AnyInstrument
  }
  const all = new Links(make, () => {
    changes += 1
  })
  const since = () => {
    const told = { done: done.splice(0), changes }
    changes = 0
    return told
  }
  return { all, since, statuses, mend: () => (broken = false) }
}

const benchOf = (...instruments: [id: string, profile: string, port?: number][]) =>
  Bench.parse({
    ...{ id: 'bench', name: 'Bench', channels: [], scanEveryS: 1 },
    instruments: instruments.map(([id, profile, port = 5025]) => ({
      ...{ id, name: `Name of ${id}`, profile, link: { kind: 'tcp', host: '127.0.0.1', port } },
    })),
  })

it('keeps open what stands on the next bench with the same settings, and closes the rest', async () => {
  const { all, since } = links()
  await all.connect(benchOf(['a', 'good'], ['b', 'good'], ['c', 'good']))
  expect(since()).toEqual({ done: ['open a', 'open b', 'open c'], changes: 1 })
  const [a] = [all.get('a')]
  await all.connect(benchOf(['a', 'good'], ['b', 'good', 5026]))
  expect(since()).toEqual({ done: ['close b 0', 'close c 0', 'open b'], changes: 1 })
  expect(all.get('a')).toBe(a)
  expect([...all.instruments.keys()].toSorted()).toEqual(['a', 'b'])
  await all.closeAll()
  expect(since()).toEqual({ done: ['close a 0', 'close b 0'], changes: 1 })
  expect(all.instruments.size).toBe(0)
})

it('makes anew the instruments of a profile that has changed, and tells of it; of one that nobody uses it tells nothing', async () => {
  const { all, since, mend } = links()
  await all.connect(benchOf(['a', 'good'], ['b', 'broken'], ['c', 'good']))
  expect(all.problems).toEqual(['The profile has an error in line 3.'])
  expect(all.get('b')).toBeUndefined()
  since()
  await all.renew(new Set(['another']))
  expect(since()).toEqual({ done: [], changes: 0 })
  await all.renew(new Set(['good']))
  expect(since()).toEqual({ done: ['close a 0', 'open a', 'close c 0', 'open c'], changes: 1 })
  expect(all.problems).toHaveLength(1)
  await all.renew(new Set(['broken']))
  expect(all.problems).toHaveLength(1)
  mend()
  since()
  await all.renew(new Set(['broken']))
  expect(since()).toEqual({ done: ['open b'], changes: 1 })
  expect(all.problems).toEqual([])
  expect(all.get('b')).toBeDefined()
})

it('says of each instrument of the bench how its link is, also where there is none', async () => {
  const { all, since, statuses } = links()
  const bench = benchOf(['a', 'good'], ['b', 'broken'])
  const closed = { ...{ role: '', state: 'closed', identity: null }, exchanges: 0, faults: 0 }
  const lineOf = (id: string) => ({ instrument: id, name: `Name of ${id}`, address: '127.0.0.1:5025' })
  expect(all.views(bench)).toEqual([
    { ...closed, ...lineOf('a'), profile: 'good', words: 'not connected' },
    { ...closed, ...lineOf('b'), profile: 'broken', words: 'not connected' },
  ])
  expect(all.views(undefined)).toEqual([])
  await all.connect(bench)
  expect(all.views(bench)).toEqual([
    {
      ...{ ...lineOf('a'), role: 'meter', profile: 'good', state: 'ready', words: 'ready' },
      ...{ identity: 'The a', exchanges: 5, faults: 2 },
    },
    { ...closed, ...lineOf('b'), profile: 'broken', words: 'The profile has an error in line 3.' },
  ])
  since()
  statuses.get('a')!.emit({} as LinkStatus)
  expect(since().changes).toBe(1)
})

it('tells that something has changed where an instrument does not answer at first', async () => {
  const { all, since } = links()
  await all.connect(benchOf(['a', 'dead']))
  await Promise.resolve()
  expect(since()).toEqual({ done: ['open a'], changes: 2 })
})
