import { rmSync } from 'node:fs'
import { afterAll, describe, expect, it } from 'vitest'
import type { ChannelView } from '../../app/contract/views.ts'
import { openSessionFile, type SessionFile } from '../../main/store/session-file.ts'
import { Replayer } from '../../main/study/replayer.ts'
import { type Box, planOf } from './box.ts'
import { type Recorded, recordNight, type Shown, watchShown } from './replay-night.ts'

const folders: string[] = []
const files: SessionFile[] = []

function opened(night: Recorded): SessionFile {
  folders.push(night.folder)
  const file = openSessionFile(night.path, { mode: 'read' })
  files.push(file)
  return file
}

/** The clock a fortnight after a session began. */
const laterBy = (endUs: number, { info }: SessionFile) => ({
  now: () => ({ utcUs: info.startedUtcUs + endUs + 14 * 86_400e6, monoUs: endUs + 14 * 86_400e6 }),
})

afterAll(() => {
  for (const file of files) file.close()
  for (const folder of folders) rmSync(folder, { recursive: true })
})

const hurry = { settling: { ...planOf([25]).settling, windowS: 300, holdS: 60, driftMkPerMin: 3 } }

/** Moments at which something of the plan happened: within such an instant there is more than one true state. */
function instants(file: SessionFile): ReadonlySet<number> {
  return new Set(file.events().map((event) => event.monoUs))
}

/** Compares what was shown live with what the replay shows at the same moments. Returns how many were compared. */
function expectAsShown(file: SessionFile, shown: readonly Shown[], replayer = new Replayer(file)): number {
  const busy = instants(file)
  let compared = 0
  for (const { monoUs, state } of shown) {
    if (busy.has(monoUs) || monoUs < replayer.nowUs) continue
    // Two lanes may read at one instant: what was shown between the two is not what stood when it had passed.
    const stored = state.session?.readings ?? 0
    if ((file.between(stored + 1, stored + 1)[0]?.monoUs ?? Infinity) <= monoUs) continue
    replayer.advance(monoUs)
    const again = replayer.state()
    const at = `${monoUs / 1e6} s`
    expect(again.channels, at).toEqual<ChannelView[]>(state.channels)
    expect(again.group, at).toEqual(state.group)
    expect(again.runner.phase, at).toBe(state.runner.phase)
    expect(again.session?.readings, at).toBe(state.session?.readings)
    compared += 1
  }
  return compared
}

function expectSettledAsRecorded(file: SessionFile): void {
  const replayer = new Replayer(file)
  replayer.advance(replayer.endUs)
  const recorded = file.events({ kinds: ['settled'] }).map((event) => event.utcUs)
  const waits = replayer.waits.filter((wait) => wait.recordedUtcUs !== null)
  expect(recorded.length).toBeGreaterThan(0)
  expect(waits.map((wait) => wait.recordedUtcUs)).toEqual(recorded)
  // The clock of the box keeps the plan's looks exact, so not even a scan lies between.
  expect(waits.map((wait) => wait.settledUtcUs)).toEqual(recorded)
  expect(waits.every((wait) => !wait.late)).toBe(true)
}

describe('Replayer', () => {
  it('shows what the station showed, to the last digit, and settles when the plan did', async () => {
    const night = await recordNight(planOf([15, 35]), { scenario: 'demo' })
    const file = opened(night)
    expect(expectAsShown(file, night.shown)).toBeGreaterThan(50)
    expectSettledAsRecorded(file)
    // Begun in the middle, it shows the same from there on.
    const from = night.shown[Math.floor(night.shown.length / 2)]!.monoUs
    const middle = new Replayer(file, { fromUtcUs: file.info.startedUtcUs + from })
    expect(middle.nowUs).toBe(from)
    expect(expectAsShown(file, night.shown, middle)).toBeGreaterThan(20)
  }, 60_000)

  it('takes one reading a step, in the order of the record, and ends where the record ends', async () => {
    const night = await recordNight(planOf([25], hurry), { scenario: 'quiet' })
    const file = opened(night)
    const replayer = new Replayer(file)
    let count = 0
    for (let reading = replayer.step(); reading; reading = replayer.step()) expect(reading.seq).toBe(++count)
    expect(count).toBe(file.readingCount)
    expect(replayer.done).toBe(true)
    expect(replayer.state().runner.phase).toBe('ended')
    const whole = new Replayer(file)
    whole.advance(whole.endUs)
    expect(replayer.state()).toEqual(whole.state())
    expect(replayer.waits).toEqual(whole.waits)
    // A note or a signature of a later day lengthens no night.
    const written = openSessionFile(night.path, { mode: 'write', clock: laterBy(whole.endUs, file) })
    written.annotate('E. Scar', 'Looked through a fortnight later.')
    written.close()
    const again = openSessionFile(night.path, { mode: 'read' })
    files.push(again)
    expect(again.events().at(-1)!.kind).toBe('note')
    expect(new Replayer(again).endUs).toBe(whole.endUs)
  }, 30_000)

  it('watches afresh where another life of the core took the session up', async () => {
    const night = await recordNight(planOf([30, 40], hurry), { scenario: 'quiet' }, async (box, shown) => {
      await box.clock.sleep(1_200_000)
      const station = await box.restart()
      await station.open()
      watchShown(station, shown, 5)
    })
    const file = opened(night)
    expect(file.events({ kinds: ['resumed'] })).toHaveLength(1)
    expect(expectAsShown(file, night.shown)).toBeGreaterThan(30)
    expectSettledAsRecorded(file)
  }, 60_000)

  it('is aimed at the triple point while R(WTP) is checked', async () => {
    const cold = (box: Box) => {
      box.store.saveBench({ ...box.lab.bench, bath: { ...box.lab.bench.bath!, lowC: -5 } }, 'test', '')
      box.station.touched('bench')
    }
    const plan = planOf([20], { ...hurry, wtpCheck: true })
    const night = await recordNight(plan, { scenario: 'quiet', prepare: cold }, answering)
    const file = opened(night)
    expect(file.points().map((point) => point.kind)).toContain('wtp-before')
    expect(expectAsShown(file, night.shown)).toBeGreaterThan(30)
    const aimed = new Replayer(file)
    const put = file.events().find((event) => event.data.aimC !== undefined)!
    aimed.advance(put.monoUs)
    expect(aimed.state().runner.setpointC).toBe(0.01)
  }, 60_000)

  it('says which waits never settled, and goes on looking until the next setpoint', async () => {
    const strict = { ...hurry.settling, driftMkPerMin: 0.01, spreadMk: 0.01 }
    const night = await recordNight(
      planOf([26, 27], { settling: strict, maxWaitS: 900, onTimeout: 'take-marked' }),
      { scenario: 'quiet' },
    )
    const replayer = new Replayer(opened(night))
    replayer.advance(replayer.endUs)
    expect(
      replayer.waits.map(({ setpointC, settledUtcUs, recordedUtcUs }) => [
        setpointC,
        settledUtcUs,
        recordedUtcUs,
      ]),
    ).toEqual([
      [26, null, null],
      [27, null, null],
    ])
  }, 30_000)

  it('follows a plan that was paused and resumed', async () => {
    const night = await recordNight(planOf([30], hurry), { scenario: 'quiet' }, async (box) => {
      await box.clock.sleep(400_000)
      box.station.pause('M. Ode', 'the lid was off')
      await box.clock.sleep(300_000)
      box.station.resume('M. Ode')
    })
    const file = opened(night)
    expect(expectAsShown(file, night.shown)).toBeGreaterThan(10)
    expectSettledAsRecorded(file)
  }, 30_000)

  it('is not misled by a setpoint that was put back while the plan waited', async () => {
    const night = await recordNight(planOf([30], hurry), { scenario: 'quiet' }, async (box) => {
      await box.clock.sleep(400_000)
      await box.station.converse('bath', 'SOUR:TEMP:SPO 29', 'M. Ode', true)
    })
    const file = opened(night)
    expect(file.events({ kinds: ['setpoint'] }).some((event) => event.words.includes('Put back'))).toBe(true)
    expect(expectAsShown(file, night.shown)).toBeGreaterThan(10)
    expectSettledAsRecorded(file)
  }, 30_000)
})

/** The bath stands in for the cell, at 0.01 degC by the lab's own reference. */
async function answering(box: Box): Promise<void> {
  while (box.station.session) {
    const question = box.station.state().runner.question
    if (question?.words.includes('triple point cell')) {
      await box.station.converse('bath', 'SOUR:TEMP:SPO 0.01', 'M. Ode', true)
      await box.station.converse('bath', 'OUTP ON', 'M. Ode', true)
      await box.clock.sleep(3_600_000)
      box.station.answer(question.id, 'It is in the cell', 'M. Ode')
    } else if (question) box.station.answer(question.id, 'It is in the bath', 'M. Ode')
    await box.clock.sleep(5_000)
  }
}
