import { join } from 'node:path'
import { describe, expect, it, onTestFinished } from 'vitest'
import type { Instant } from '../../app/base/clock.ts'
import type { LinkStatus, Measured, Meter, RowValue } from '../../app/instruments/faces.ts'
import type { Watch } from '../../app/live/watch.ts'
import { Channel } from '../../app/records/bench.ts'
import type { Reading } from '../../app/records/reading.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { Intake } from '../../main/station/intake.ts'
import { Lane } from '../../main/station/lane.ts'
import { Recorder } from '../../main/station/recorder.ts'
import { createSessionFile } from '../../main/store/session-file.ts'
import { exampleInfo, exampleSetup, START_UTC_US, temporaryFolder } from '../store/example.ts'

const channel = (id: string, more: object = {}) =>
  Channel.parse({ id, name: id, role: 'monitor', instrument: 'meter', ...more })

/** A lane on a real session file, with a meter that answers as it is told. */
function setUp(
  channels: Channel[],
  answer: (input: number, at: Instant) => Partial<Measured>,
  scanEveryS = 60,
) {
  const clock = new VirtualClock({ startUtcUs: START_UTC_US })
  const file = createSessionFile(join(temporaryFolder(), 'x.stillpoint'), {
    info: exampleInfo,
    setup: exampleSetup,
    clock,
  })
  const recorder = new Recorder(file, clock, 0, 0)
  const commits: Reading[][] = []
  recorder.onDidStore.on((readings) => commits.push([...readings]))
  const told: string[] = []
  recorder.onDidTell.on(({ events }) => told.push(...events.map(({ words }) => words)))
  const asked: number[] = []
  const doubts: (() => void)[] = []
  const meter = {
    id: 'meter',
    role: 'meter',
    unit: 'ohm',
    inputs: 4,
    status: { state: 'ready', words: 'ready' } as LinkStatus,
    onDidChangeStatus: () => ({ dispose: () => {} }),
    onDidDoubt: (listener: () => void) => {
      doubts.push(listener)
      return { dispose: () => {} }
    },
    measure: async ({ input = 1 }: { input?: number }) => {
      asked.push(input)
      await clock.sleep(500)
      const at = clock.now()
      return { raw: '', value: '1', unit: 'ohm', marks: [], at, ...answer(input, at) }
    },
  } as unknown as Meter
  const intake = new Intake(recorder, { suspicions: () => [] } as unknown as Watch, channels)
  const lane = new Lane({
    meter,
    channels,
    scanners: new Map(),
    turnstiles: new Map(),
    connections: new Map(),
    clock,
    intake,
    scanEveryS,
    onFault: (fault) => {
      throw fault
    },
  })
  onTestFinished(() => {
    recorder.close()
    file.close()
    clock.stop()
  })
  return { clock, lane, commits, told, asked, doubt: () => doubts.map((each) => each()) }
}

const of = (value: string, at: Instant, more: Partial<RowValue> = {}): RowValue => ({
  raw: value,
  value,
  unit: 'ohm',
  marks: [],
  at,
  ...more,
})
const earlier = ({ utcUs, monoUs }: Instant, us: number): Instant => ({
  utcUs: utcUs - us,
  monoUs: monoUs - us,
})

const counting = (readings: readonly Reading[]): Reading[] =>
  readings.filter(({ marks }) => !marks.includes('settling-discarded'))

describe('an answer with many values', () => {
  it('is committed as one group, each value at its own time, and said to be so once', async () => {
    const { clock, lane, commits, told } = setUp([channel('a', { readings: 40 })], (_input, at) => ({
      value: '100',
      row: Array.from({ length: 99 }, (_each, i) => of(String(i + 1), earlier(at, (99 - i) * 10_000))),
      moments: 'told',
    }))
    lane.start()
    // Two scans, a minute apart: a visit that wants forty readings has them with one answer.
    await clock.sleep(70_000)
    await lane.stop()
    await clock.sleep(1000)
    const groups = commits.map(counting).filter((readings) => readings.length > 0)
    expect(groups.map((readings) => readings.length)).toEqual([100, 100])
    const [group] = groups
    expect(group!.map(({ value }) => Number(value))).toEqual(Array.from({ length: 100 }, (_each, i) => i + 1))
    const gaps = group!
      .slice(1)
      .map(({ monoUs, utcUs }, i) => [monoUs - group![i]!.monoUs, utcUs - group![i]!.utcUs])
    expect(new Set(gaps.map(String))).toEqual(new Set(['10000,10000']))
    expect(group!.some(({ marks }) => marks.length > 0)).toBe(false)
    expect(told.filter((words) => words.includes('times'))).toHaveLength(1)
    expect(told.join()).toContain('those the instrument tells')
  })

  it('gives its value to every channel it is of, which are not asked again in that scan', async () => {
    const channels = [
      channel('a', { input: 1 }),
      channel('b', { input: 2 }),
      channel('hot', { input: 3, currentMa: 2 }),
      channel('slow', { input: 4, discard: 1 }),
    ]
    const { clock, lane, commits, asked } = setUp(channels, (input, at) => ({
      value: String(input),
      row: [1, 2, 3, 4].filter((each) => each !== input).map((each) => of(String(each), at, { input: each })),
    }))
    lane.start()
    await clock.sleep(50_000)
    await lane.stop()
    await clock.sleep(1000)
    const readings = counting(commits.flat())
    // What is measured with another current, or has to settle, is asked for itself.
    expect([...new Set(asked)]).toEqual([1, 3, 4])
    expect(readings.map(({ channel: id, value }) => `${id}=${value}`)).toEqual([
      'b=2',
      'a=1',
      'hot=3',
      'slow=4',
    ])
  })

  it('is doubted as a whole', async () => {
    const { clock, lane, commits, doubt } = setUp([channel('a')], (_input, at) => ({
      row: [of('7', earlier(at, 1000))],
      moments: 'spread',
    }))
    lane.start()
    // The first measurement sets the current and does not count; the second is held for a moment.
    await clock.sleep(1200)
    doubt()
    await lane.stop()
    await clock.sleep(1000)
    expect(counting(commits.flat()).map(({ marks }) => marks)).toEqual([
      ['doubtful-answer'],
      ['doubtful-answer'],
    ])
  })
})
