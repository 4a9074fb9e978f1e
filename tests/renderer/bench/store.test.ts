import { beforeEach, describe, expect, it } from 'vitest'
import { benchStore } from '../../../renderer/bench/bench.store.ts'
import { makeBench } from '../../browser/fake/records.ts'

const now = () => benchStore.getState()
const rename = (name: string) => now().act({ do: 'name', name })
/** The same record with its fields in another order, as a station that read it again would send it. */
const reread = <T extends object>(record: T): T => Object.fromEntries(Object.entries(record).reverse()) as T

describe('benchStore', () => {
  beforeEach(() => benchStore.setState({ draft: undefined, stored: undefined, overtaken: false }))

  it('keeps an edit while the same bench comes again', () => {
    now().arrive(makeBench(2))
    rename('Mine')
    now().arrive(reread(makeBench(2)))
    expect(now().draft?.now.name).toBe('Mine')
    expect(now().overtaken).toBe(false)
  })

  it('begins anew from what was saved', () => {
    now().arrive(makeBench(2))
    rename('Mine')
    now().arrive(reread(now().draft!.now))
    expect(now().draft?.past).toEqual([])
    expect(now().stored?.name).toBe('Mine')
  })

  it('shows a bench that changed elsewhere, but never over an edit', () => {
    now().arrive(makeBench(2))
    now().arrive({ ...makeBench(2), name: 'Theirs' })
    expect(now().draft?.now.name).toBe('Theirs')
    rename('Mine')
    now().arrive({ ...makeBench(2), name: 'Theirs again' })
    expect(now().draft?.now.name).toBe('Mine')
    expect(now().overtaken).toBe(true)
    now().giveUp()
    expect(now().draft?.now.name).toBe('Theirs again')
    expect(now().overtaken).toBe(false)
  })
})
