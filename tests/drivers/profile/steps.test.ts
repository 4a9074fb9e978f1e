import { describe, expect, it } from 'vitest'
import type { Read } from '../../../drivers/profile/reply.ts'
import { sortRow } from '../../../drivers/profile/row.ts'
import type { Step } from '../../../drivers/profile/schema-steps.ts'
import type { Done } from '../../../drivers/profile/speaker.ts'
import { doSteps } from '../../../drivers/profile/steps.ts'
import { VirtualClock } from '../../../main/station/clocks/virtual.ts'

const NOW = { utcUs: 0, monoUs: 0 }
const value = (text: string | undefined): Read => ({ kind: 'value', value: text, unit: 'ohm', marks: [] })
const bits = (n: number): Read => ({ kind: 'bits', bits: n })
const text = (said: string): Read => ({ kind: 'text', text: said })
const FAULT: Done = { ok: false, why: 'silent', raw: '', at: NOW, words: 'no answer' }

/** Does steps whose commands answer one thing after another, the last of them again and again. */
async function run(steps: readonly Step[], answers: Record<string, readonly (Read | 'fault')[]>) {
  const clock = new VirtualClock({ startUtcUs: 0 })
  const asked: string[] = []
  const perform = async (command: string): Promise<Done> => {
    const given = answers[command] ?? [{ kind: 'acknowledged' }]
    const nth = asked.filter((each) => each === command).length
    asked.push(command)
    const read = given[Math.min(nth, given.length - 1)]!
    return read === 'fault' ? FAULT : { ok: true, read, raw: '', at: NOW }
  }
  const done = await doSteps(steps, { clock, perform })
  const tookMs = clock.now().monoUs / 1000
  clock.stop()
  return { done, asked, tookMs, result: done?.ok ? done.read : done?.words }
}

describe('doSteps', () => {
  it('gives the last value, or what came first where there is none, and ends at the first fault', async () => {
    expect((await run(['a', 'b', 'c'], { a: [value('1')], b: [value('2')] })).result).toEqual(value('2'))
    expect((await run(['a', 'b'], { a: [text('x')], b: [bits(1)] })).result).toEqual(text('x'))
    expect((await run([], {})).done).toBeUndefined()
    const ended = await run(['a', 'b', 'c'], { a: [value('1')], b: ['fault'] })
    expect([ended.result, ended.asked]).toEqual(['no answer', ['a', 'b']])
  })

  it('takes the branch that a condition tells, whose own answer is no result', async () => {
    const way = async (when: object, read: Read) =>
      (await run([{ when: { ask: 'q', ...when }, do: ['yes'], else: ['no'] } as Step], { q: [read] }))
        .asked[1]
    expect(await way({ set: 6 }, bits(7))).toBe('yes')
    expect(await way({ set: 6 }, bits(5))).toBe('no')
    expect(await way({ clear: 6 }, bits(1))).toBe('yes')
    expect(await way({ clear: 6 }, bits(2))).toBe('no')
    expect(await way({ set: 1, clear: 2 }, bits(3))).toBe('no')
    expect(await way({ least: 5 }, value('5'))).toBe('yes')
    expect(await way({ least: 5 }, value('4.99'))).toBe('no')
    expect(await way({ most: 5 }, value('5'))).toBe('yes')
    expect(await way({ most: 5 }, value('5.01'))).toBe('no')
    expect(await way({ least: 5 }, value(undefined))).toBe('no')
    expect(await way({ equals: '5.0' }, value('5.0'))).toBe('yes')
    expect(await way({ equals: '5.0' }, value('5'))).toBe('no')
    expect(await way({ equals: ['on', 'ready'] }, text('ready'))).toBe('yes')
    expect(await way({ equals: ['on', 'ready'] }, text('off'))).toBe('no')
    expect(await way({ equals: 'on' }, text('on'))).toBe('yes')
    expect(await way({ equals: 'on' }, text('one'))).toBe('no')
    expect(await way({}, text('anything'))).toBe('yes')
    expect(await way({}, { kind: 'acknowledged' })).toBe('no')
    const alone = await run([{ when: { ask: 'q', equals: 'on' }, do: ['yes'] } as Step], { q: [text('off')] })
    expect([alone.done, alone.asked]).toEqual([undefined, ['q']])
    expect((await run([{ when: { ask: 'q' }, do: ['yes'] } as Step], { q: ['fault'] })).asked).toEqual(['q'])
  })

  it('repeats until it is as it should be, so long apart, and not oftener than told', async () => {
    const loop = { repeat: ['go', 'read'], until: { ask: 'q', set: 1 }, most: 3, everyMs: 100 } as Step
    const second = await run([loop], { q: [bits(0), bits(1)], read: [value('1'), value('2'), value('3')] })
    expect(second.asked.join(' ')).toBe('go read q go read q')
    expect([second.result, second.tookMs]).toEqual([value('2'), 100])
    const never = await run([loop, 'after'], { q: [bits(0)] })
    expect(never.asked.join(' ')).toBe('go read q go read q go read q')
    expect([never.result, never.tookMs]).toEqual(['"q" did not answer as it should within 3 rounds', 200])
    const at = await run([{ ...(loop as object), most: 1 } as Step], { q: [bits(1)] })
    expect([at.done?.ok, at.tookMs]).toEqual([true, 0])
    expect((await run([loop], { q: ['fault'] })).asked.join(' ')).toBe('go read q')
    expect((await run([loop], { read: ['fault'] })).asked.join(' ')).toBe('go read')
  })

  it('repeats so many times where no end is asked for, and gives the last value', async () => {
    const loop = { repeat: ['read'], most: 3 } as Step
    const { asked, result, tookMs } = await run([loop], { read: [value('1'), value('2'), text('x')] })
    expect([asked.length, result, tookMs]).toEqual([3, value('2'), 0])
  })
})

describe('sortRow', () => {
  const from = { utcUs: 1_000_000, monoUs: 0 }
  const at = { utcUs: 4_000_000, monoUs: 3_000_000 }
  const one = (said: string, more: object = {}) => ({ ...value(said), ...more }) as never
  const sort = (row: readonly object[], input = 1, inputs?: object) =>
    sortRow({ read: { ...(row.at(-1) as object), row } as never, input, inputs: inputs as never, from, at })
  const times = ({ others }: ReturnType<typeof sortRow>) => others.map((each) => each.at.monoUs)

  it('takes of several inputs the one that was asked for; all are of the end of the answer', () => {
    const row = [one('1', { place: 1 }), one('2', { place: 2 }), one('3', { place: 3 })]
    const { own, others, moments } = sort(row, 2)
    expect(own).toMatchObject({ value: '2' })
    expect(others.map((each) => [each.input, each.value, each.at.monoUs])).toEqual([
      [1, '1', 3_000_000],
      [3, '3', 3_000_000],
    ])
    expect(moments).toBeUndefined()
    expect(sort(row, 4).own).toBeUndefined()
  })

  it('knows inputs by what the instrument calls them, and leaves out what it does not have', () => {
    const row = [one('1', { input: '101' }), one('2', { input: '102' }), one('9', { input: '900' })]
    const { own, others } = sort(row, 2, { count: 2, first: 101 })
    expect(own).toMatchObject({ value: '2' })
    expect(others.map((each) => [each.input, each.value])).toEqual([[1, '1']])
    expect(sort(row, 3, { count: 2, first: 101 }).own).toBeUndefined()
  })

  it('takes of several moments the last; the others by their own times, else spread over the exchange', () => {
    const told = sort([one('1', { timeS: 7 }), one('2', { timeS: 7.5 }), one('3', { timeS: 9 })])
    expect([told.own, told.moments]).toMatchObject([{ value: '3' }, 'told'])
    expect(times(told)).toEqual([1_000_000, 1_500_000])
    expect(told.others.map((each) => each.at.utcUs)).toEqual([2_000_000, 2_500_000])
    const spread = sort([one('1', { timeS: 7 }), one('2'), one('3')])
    expect([times(spread), spread.moments]).toEqual([[1_000_000, 2_000_000], 'spread'])
    // A count that began anew is not taken for the future.
    expect(times(sort([one('1', { timeS: 900 }), one('2', { timeS: 1 })]))).toEqual([3_000_000])
    expect(sort([one('1')])).toMatchObject({ own: { value: '1' }, others: [] })
  })
})
