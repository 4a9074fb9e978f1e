import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import { asTold } from '../../app/messages/said.ts'
import type { Reading } from '../../app/records/reading.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { startLab } from '../../simulator/lab.ts'
import { openBox, planOf } from './box.ts'
import { CoreRunner, type Told } from './core-runner.ts'
import { EpochClock } from './epoch-clock.ts'

const SPEED = 80
/** A plan that takes about ten minutes of the lab's time. */
const SHORT = planOf([26, 28], {
  settling: {
    windowS: 90,
    driftMkPerMin: 20,
    spreadMk: 30,
    bandK: 0.4,
    holdS: 20,
    confidence: 0.95,
    channels: [],
    adaptive: 1,
  },
  cycles: 2,
})

/** Readings of one channel stand in the order they were taken; two instruments may tell theirs a moment apart. */
function expectInOrder(readings: readonly Reading[]): void {
  for (const channel of new Set(readings.map((r) => r.channel))) {
    const times = readings.filter((r) => r.channel === channel).map((r) => r.monoUs)
    expect(times).toEqual(times.toSorted((a, b) => a - b))
  }
}

let core: CoreRunner | undefined
afterEach(() => core?.kill())

describe('a core that is killed', () => {
  it('loses no reading it has shown, is taken up again with the gap marked, and brings its plan to an end', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'stillpoint-kill-'))
    const epoch = Date.now()
    const clock = new EpochClock(epoch, SPEED)
    const lab = await startLab({ seed: 5, clock, scenario: 'quiet' })
    try {
      const file = join(folder, 'bench.json')
      writeFileSync(file, JSON.stringify({ bench: lab.bench, register: lab.paperwork, plan: SHORT }))
      core = new CoreRunner(join(folder, 'data'), file, SPEED, epoch)
      const readings = (count: number) => (_: Told, all: readonly Told[]) =>
        all.filter((t) => t.seq !== undefined).length >= count
      const first = await core.live(readings(12))
      const second = await core.live(readings(25))
      const third = await core.live(() => false)

      expect(first[0]).toMatchObject({ resumed: false })
      expect(second[0]).toEqual({ session: first[0]!.session, resumed: true })
      expect(third[0]).toEqual({ session: first[0]!.session, resumed: true })
      expect(third.at(-1)!.finished!.ending).toMatch(/^complete/)

      const store = openStationStore(join(folder, 'data'), { clock, mode: 'read' })
      const session = openSessionFile(store.sessionPath(first[0]!.session!), { mode: 'read' })
      const shown = [...first, ...second, ...third].filter((t) => t.seq !== undefined)
      const stored = new Map(session.since(0, 100_000).map((r) => [r.seq, r]))
      expect(shown.filter((t) => stored.get(t.seq!)?.raw !== t.raw)).toEqual([])

      expect(session.events({ kinds: ['resumed'] })).toHaveLength(2)
      const gaps = session
        .events({ kinds: ['gap'] })
        .filter((e) => e.words.includes('station was not running'))
      expect(new Set(gaps.map((e) => e.subject))).toEqual(new Set(['ref', 'prt-a']))
      const marked = [...stored.values()].filter((r) => r.marks.includes('gap-before'))
      expect(marked.length).toBeGreaterThanOrEqual(4)
      expectInOrder([...stored.values()])
      expect(session.points().map((p) => p.setpointC)).toEqual([26, 28])
      session.close()
      store.close()
    } finally {
      await lab.close()
      rmSync(folder, { recursive: true })
    }
  }, 90_000)
})

describe('Station', () => {
  it('takes up the plan where it was after an orderly restart', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      const id = await box.station.startPlan({ plan: SHORT, operator: 'Test' })
      await box.clock.sleep(200_000)
      const station = await box.restart()
      expect(station.state().session).toBeNull()
      expect(await station.open()).toBe(id)
      const finished = await station.finished
      expect(finished).toMatchObject({ session: id, ending: 'complete' })
    } finally {
      await box.close()
    }
  })

  it('puts the alarms that nobody has seen back on the list, and leaves out those that somebody has', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      const id = await box.station.startPlan({ plan: SHORT, operator: 'Test' })
      const cause = { kind: 'link', severity: 'warning', subject: 'bridge' } as const
      box.station.alarms.raise({ ...cause, key: 'seen', said: asTold('The bridge was away at nine.') })
      box.station.acknowledge(box.station.state().alarms[0]!.id, 'Test')
      box.station.alarms.raise({ ...cause, key: 'unseen', said: asTold('The bridge was away at ten.') })
      const station = await box.restart()
      expect(station.state().alarms).toEqual([])
      expect(await station.open()).toBe(id)
      const back = station.state().alarms.filter((a) => a.subject === 'bridge')
      expect(back.map((a) => a.words)).toEqual(['The bridge was away at ten.'])
      station.alarms.raise({ ...cause, key: 'unseen', said: asTold('The bridge was away at eleven.') })
      expect(station.state().alarms.find((a) => a.id === back[0]!.id)).toMatchObject({
        count: 2,
        active: true,
      })
      station.acknowledge(back[0]!.id, 'Test')
      expect(station.state().alarms.find((a) => a.id === back[0]!.id)).toMatchObject({
        acknowledgedBy: 'Test',
      })
    } finally {
      await box.close()
    }
  })

  it('writes a step of the wall clock down once, marks what follows, and never reorders', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      await box.station.startPlan({ plan: SHORT, operator: 'Test' })
      await box.clock.sleep(100_000)
      box.clock.stepUtc(3_600_000)
      await box.clock.sleep(60_000)
      box.clock.stepUtc(-3_600_000)
      const { session } = await box.station.finished
      const file = openSessionFile(box.store.sessionPath(session), { mode: 'read' })
      const steps = file.events({ kinds: ['clock-step'] })
      expect(steps.map((e) => Math.round(Number(e.data.seconds)))).toEqual([3600, -3600])
      const readings = file.since(0, 100_000)
      expect(readings.filter((r) => r.marks.includes('clock-stepped'))).toHaveLength(4)
      expectInOrder(readings)
      file.close()
    } finally {
      await box.close()
    }
  })

  it('leaves a plan that is on its way to a safe stop to its next life, and does not call it ended', async () => {
    const box = await openBox({
      scenario: 'quiet',
      faults: [{ kind: 'port-vanish', instrument: 'bath', atS: 700, forS: 2000 }],
    })
    try {
      const id = await box.station.startPlan({ plan: planOf([60]), operator: 'Test' })
      while (box.station.state().runner.phase !== 'stopping') await box.clock.sleep(10_000)
      const station = await box.restart()
      expect(box.store.sessions()[0]!.info.ending).toBeNull()
      expect(await station.open()).toBe(id)
      expect(station.state().runner.phase).toBe('stopping')
      const { ending, reason } = await station.finished
      expect(ending).toBe('stopped-safely')
      expect(reason).toContain('The bath is set to its safe setpoint')
    } finally {
      await box.close()
    }
  })

  it('begins one session of two that are asked for at once', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      const both = await Promise.allSettled([
        box.station.startPlan({ plan: SHORT, operator: 'A' }),
        box.station.record({ operator: 'B' }),
      ])
      expect(both.map((b) => b.status)).toEqual(['fulfilled', 'rejected'])
      expect(box.store.sessions()).toHaveLength(1)
    } finally {
      await box.close()
    }
  })

  it('closes older sessions that were left open and takes up the newest', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      const first = await box.station.record({ operator: 'Test' })
      await box.clock.sleep(60_000)
      await box.restart()
      const second = await box.station.record({ operator: 'Test' })
      await box.clock.sleep(60_000)
      const station = await box.restart()
      expect(await station.open()).toBe(second)
      const old = box.store.sessions().find((row) => row.info.id === first)!
      expect(old.info).toMatchObject({ ending: 'stopped-safely' })
    } finally {
      await box.close()
    }
  })
})
