import { existsSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { unpackColumns } from '../../app/contract/columns.ts'
import { asTold } from '../../app/messages/said.ts'
import type { Reading } from '../../app/records/reading.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import type { FaultOrder } from '../../simulator/faults/order.ts'
import { type Box, type BoxOptions, openBox, planOf } from './box.ts'

interface Recorded {
  readonly readings: Reading[]
  readonly gaps: readonly string[]
  /** What was told of links: whose, and how it stood. */
  readonly links: readonly string[]
}

/** Records for a while without a plan and tells what is in the file. */
async function record(
  seconds: number,
  options: BoxOptions,
  act?: (box: Box) => Promise<void>,
): Promise<Recorded> {
  const box = await openBox(options)
  try {
    const id = await box.station.record({ operator: 'Test' })
    await act?.(box)
    await box.clock.sleep(seconds * 1000)
    box.station.stop('Test', 'long enough')
    await box.station.finished
    const file = openSessionFile(box.store.sessionPath(id), { mode: 'read' })
    const gaps = file.events({ kinds: ['gap'] }).map((e) => e.words)
    const links = file.events({ kinds: ['link'] }).map(({ subject, data }) => `${subject} ${data.state}`)
    const readings = file.since(0, 1_000_000)
    file.close()
    return { readings, gaps, links }
  } finally {
    await box.close()
  }
}

const of = (recorded: Recorded, channel: string) => recorded.readings.filter((r) => r.channel === channel)

describe('a recording', () => {
  it('that was stopped lets a plan begin on the same bench', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      await box.station.record({ operator: 'Test' })
      await box.clock.sleep(30_000)
      box.station.stop('Test', 'seen enough')
      await box.station.finished
      const plan = planOf([25])
      const accept = box.station.preview(plan).checks.map(({ id }) => id)
      await box.station.startPlan({ plan, operator: 'Test', accept })
      await box.clock.sleep(30_000)
      expect(box.station.state().runner).toMatchObject({
        phase: expect.stringMatching(/setting|settling|waiting/),
      })
      box.station.stop('Test', 'it began')
      await box.station.finished
    } finally {
      await box.close()
    }
  })

  it('visits every channel in turn and stores each reading before it shows it', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      const id = await box.station.record({ operator: 'Test' })
      const file = box.station.session!.recorder.file
      let shown = 0
      box.station.session!.recorder.onDidStore.on((readings) => {
        for (const { seq } of readings) {
          shown += 1
          expect(file.lastSeq).toBeGreaterThanOrEqual(seq)
        }
      })
      await box.clock.sleep(300_000)
      expect(shown).toBe(box.station.state().session!.readings)
      expect(shown).toBeGreaterThan(40)
      const { columns, meta } = unpackColumns(box.station.live(0, 60, 1_000).buffer)
      expect(meta).toMatchObject({ session: id, channels: ['ref', 'prt-a'] })
      expect((columns.seq as Uint32Array).length).toBeGreaterThan(5)
      const last = (meta as { last: number }).last
      await box.clock.sleep(30_000)
      const next = unpackColumns(box.station.live(last, 60, 1_000).buffer)
      expect((next.columns.seq as Uint32Array)[0]).toBeGreaterThan(last)
    } finally {
      await box.close()
    }
  })

  it('keeps the reading as sent, with the current it was taken at', async () => {
    const { readings } = await record(120, {})
    const thermistor = readings.filter((r) => r.channel === 'thermistor')
    expect(thermistor.length).toBeGreaterThan(2)
    for (const r of thermistor) {
      expect(r.raw).toMatch(/^[+-]\d\.\d{9}E[+-]\d\d$/)
      expect(r.value).toBe(r.raw)
      expect(r.currentMa).toBe(0.01)
    }
    // A current is let settle: what is read just after a change of it does not count.
    const counted = readings.filter((r) => r.channel === 'ref' && !r.marks.includes('settling-discarded'))
    expect(counted.every((r) => r.currentMa === 1)).toBe(true)
  })

  const wire: readonly [
    string,
    Omit<FaultOrder & { kind: 'silence' }, 'kind'> & { kind: FaultOrder['kind'] },
  ][] = [
    ['nothing', { kind: 'silence', instrument: 'bridge', atS: 60, times: 3 }],
    ['garbage', { kind: 'garbage', instrument: 'bridge', atS: 60, times: 3 }],
    ['half a line', { kind: 'half-line', instrument: 'bridge', atS: 60, times: 3 }],
    ['too late', { kind: 'late', instrument: 'bridge', atS: 60, times: 2, byS: 30 } as never],
    ['the answer before', { kind: 'previous-answer', instrument: 'bridge', atS: 60, times: 2 }],
    ['the same answer twice', { kind: 'doubled', instrument: 'bridge', atS: 60, times: 3 }],
    ['a decimal comma', { kind: 'decimal-comma', instrument: 'bridge', atS: 60, times: 3 }],
    ['9.91E37', { kind: 'not-a-number', instrument: 'bridge', atS: 60, times: 3 }],
  ]
  it.each(wire)(
    'makes a marked gap with a line, and no value, of an instrument that answers %s',
    async (_, fault) => {
      const recorded = await record(600, { scenario: 'quiet', faults: [fault as FaultOrder] })
      const clean = await record(600, { scenario: 'quiet' })
      const good = recorded.readings.filter((r) => r.value !== null && r.marks.length === 0)
      // Nothing made up, and nothing given to the wrong channel: what counts is what the clean run reads, to the noise.
      for (const channel of ['ref', 'prt-a']) {
        const values = good.filter((r) => r.channel === channel).map((r) => Number(r.value))
        const truth = of(clean, channel)
          .filter((r) => r.marks.length === 0)
          .map((r) => Number(r.value))
        const low = Math.min(...truth)
        const high = Math.max(...truth)
        const width = high - low
        expect(values.length).toBeGreaterThan(10)
        expect(values.filter((v) => v < low - width || v > high + width)).toEqual([])
      }
      const bad = recorded.readings.filter((r) => r.channel !== 'bath' && r.value === null)
      if (bad.length > 0) {
        expect(recorded.gaps.length).toBeGreaterThan(0)
        expect(recorded.readings.some((r) => r.marks.includes('gap-before'))).toBe(true)
        expect(recorded.gaps[0]).toMatch(/no valid reading for \d+ (s|min): .+\.$/)
      }
    },
  )

  it('goes on with the other channels while a scanner is away, and takes the rest up when it is back', async () => {
    const recorded = await record(900, {
      faults: [{ kind: 'port-vanish', instrument: 'scanner', atS: 120, forS: 400 }],
    })
    const during = recorded.readings.filter((r) => r.monoUs > 180e6 && r.monoUs < 500e6)
    expect(during.filter((r) => r.channel === 'thermistor' && r.value !== null).length).toBeGreaterThan(10)
    expect(during.filter((r) => r.channel === 'ref' && r.value !== null)).toEqual([])
    expect(of(recorded, 'ref').filter((r) => r.monoUs > 560e6 && r.value !== null).length).toBeGreaterThan(3)
    expect(recorded.gaps.some((words) => words.startsWith('Reference SPRT: no valid reading for'))).toBe(true)
    expect(of(recorded, 'ref').filter((r) => r.marks.includes('gap-before'))).toHaveLength(1)
    expect(recorded.links.filter((words) => words.startsWith('scanner'))).toEqual([
      'scanner ready',
      'scanner lost',
      'scanner ready',
    ])
  })

  it('waits for room on a full disk, shows nothing meanwhile, and goes on by itself', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      const id = await box.station.record({ operator: 'Test' })
      await box.clock.sleep(60_000)
      const run = box.station.session!
      const { file } = run.recorder
      const commit = file.commit.bind(file)
      const { StoreError } = await import('../../main/store/errors.ts')
      file.commit = () => {
        throw new StoreError('disk-full', asTold('The disk is full. Make room; recording goes on by itself.'))
      }
      const before = run.live.last
      await box.clock.sleep(120_000)
      expect(run.live.last).toBe(before)
      expect(box.station.state().alarms[0]).toMatchObject({
        active: true,
        words: expect.stringContaining('disk is full'),
      })
      file.commit = commit
      await box.clock.sleep(30_000)
      expect(box.station.state().alarms[0]).toMatchObject({ active: false })
      const ref = openSessionFile(box.store.sessionPath(id), { mode: 'read' })
      const times = ref.readings({ channel: 'ref', most: 1_000 }).map((r) => r.monoUs / 1e6)
      ref.close()
      const longest = Math.max(...times.slice(1).map((t, i) => t - times[i]!))
      expect(longest).toBeLessThan(30)
    } finally {
      await box.close()
    }
  })

  it('lets the next plan start when it has been stopped, for which nobody has to give a reason', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      await box.station.record({ operator: 'Test' })
      await box.clock.sleep(30_000)
      expect(box.station.state().runner).toMatchObject({ phase: 'measuring', ending: null })
      box.station.stop('A. Person')
      await box.station.finished
      expect(box.station.state().session).toBeNull()
      expect(box.station.state().runner).toMatchObject({
        phase: 'ended',
        words: 'Ended: Stopped by A. Person.',
        ending: 'stopped-by-person',
        question: null,
      })
      const plan = planOf([25])
      const accept = box.station.preview(plan).checks.map((c) => c.id)
      const id = await box.station.startPlan({ plan, operator: 'Test', accept })
      expect(box.station.state()).toMatchObject({ session: { id } })
      expect(() => box.station.stop('A. Person')).toThrow('Say why the plan is stopped')
    } finally {
      await box.close()
    }
  })

  it('refuses a typed line while it runs unless it is meant, and then writes it down', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      await box.station.record({ operator: 'Test' })
      await box.clock.sleep(30_000)
      await expect(box.station.converse('bridge', '*IDN?', 'M. Ode')).rejects.toThrow('in use by the session')
      expect(await box.station.converse('bridge', '*IDN?', 'M. Ode', true)).toMatch(/^QUENNICK,RB-8/)
      const notes = box.station.session!.recorder.file.events({ kinds: ['note'] })
      expect(notes.at(-1)).toMatchObject({
        who: 'M. Ode',
        subject: 'bridge',
        words: 'M. Ode typed to bridge: *IDN?',
      })
    } finally {
      await box.close()
    }
  })
})

describe('a look at the bench', () => {
  it('is stored as what it is, gives way to any session, and is gone after a day', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      await box.station.look()
      await box.clock.sleep(30_000)
      const { session, runner, channels } = box.station.state()
      expect(session).toMatchObject({ look: true })
      expect(runner.words).toContain('kept for a day')
      expect(channels.some(({ lastSeq }) => lastSeq !== null)).toBe(true)
      const look = session!.id
      const id = await box.station.record({ operator: 'Test' })
      await box.clock.sleep(30_000)
      expect(box.station.state().session).toMatchObject({ id, look: false })
      expect(box.store.sessions().map(({ info }) => info.id)).toEqual([id])
      expect(existsSync(box.store.sessionPath(look))).toBe(true)
      box.station.stop('A. Person')
      await box.station.finished
      await box.clock.sleep(25 * 3600_000)
      await box.station.look()
      expect(existsSync(box.store.sessionPath(look))).toBe(false)
      expect(existsSync(box.store.sessionPath(id))).toBe(true)
      expect(box.store.hasSession(look)).toBe(false)
    } finally {
      await box.close()
    }
  })

  it('does not begin beside a session, nor where nothing can be read', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      const id = await box.station.record({ operator: 'Test' })
      await box.station.look()
      expect(box.station.state().session?.id).toBe(id)
      box.station.stop('A. Person')
      await box.station.finished
      await box.station.disconnect()
      await box.lab.close()
      await box.station.look()
      expect(box.station.state().session).toBeNull()
    } finally {
      await box.close()
    }
  })
})
