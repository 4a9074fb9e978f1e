import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { Settings } from '../../app/contract/settings.ts'
import { PulseTaker } from '../../main/station/pulse.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { type Box, openBox, planOf } from './box.ts'

let box: Box
beforeEach(async () => {
  box = await openBox({ scenario: 'quiet' })
})
afterEach(() => box.close())

const settings = (bathWhenEnded: Settings['bathWhenEnded']) =>
  box.store.saveSettings(
    Settings.parse({ laboratory: { name: 'L', address: [], country: 'XX' }, bathWhenEnded }),
    'test',
  )

/** Ends a station in the middle of a plan; its last line of the record, and what the bath's controller holds then. */
async function endInPlan(): Promise<{ words: string; setpointC: number; ended: number | null }> {
  const id = await box.station.startPlan({ plan: planOf([60]), operator: 'Test' })
  await box.clock.sleep(600_000)
  await box.station.depart('SIGTERM')
  const setpointC = Number(await box.station.converse('bath', 'SOUR:TEMP:SPO?', 'Test', true))
  await box.station.close()
  const file = openSessionFile(box.store.sessionPath(id), { mode: 'read' })
  const words = file.events({ kinds: ['plan-step'] }).at(-1)!.words
  const ended = file.info.endedUtcUs
  file.close()
  return { words, setpointC, ended }
}

describe('a station that is asked to end in the middle of a plan', () => {
  it('leaves the bath where it is, says so in the record, and goes on at the next start', async () => {
    const { words, setpointC, ended } = await endInPlan()
    expect(words).toMatch(
      /^The station was asked to end \(SIGTERM\) while the plan was waiting\. The session stays open\. .+ stays at 60 °C, as the settings say\.$/,
    )
    expect(setpointC).toBe(60)
    expect(ended).toBeNull()
    await box.restart()
    expect(await box.station.open()).toBeDefined()
    expect((await box.station.finished).ending).toBe('complete')
  })

  it('brings the bath to its safe setpoint where the settings say so', async () => {
    settings('safe')
    const { words, setpointC } = await endInPlan()
    expect(words).toMatch(/ is set to its safe setpoint, 25 °C\.$/)
    expect(setpointC).toBe(25)
  })

  it.each(['stay', 'safe'] as const)(
    'has ended within 5 s though every instrument is frozen (%s)',
    async (bath) => {
      settings(bath)
      const id = await box.station.startPlan({ plan: planOf([60]), operator: 'Test' })
      await box.clock.sleep(600_000)
      // Connections stay open, questions are taken, and nothing ever answers.
      for (const { id: instrument } of box.lab.bench.instruments)
        box.lab.fault({ kind: 'silence', instrument, forS: 1e6 })
      await box.clock.sleep(1_000)
      const from = box.clock.now().monoUs
      await box.station.depart('SIGTERM')
      await box.station.close()
      expect((box.clock.now().monoUs - from) / 1e6).toBeLessThan(5)
      const file = openSessionFile(box.store.sessionPath(id), { mode: 'read' })
      expect(file.info.endedUtcUs).toBeNull()
      const { words } = file.events({ kinds: ['plan-step'] }).at(-1)!
      expect(words).toMatch(
        bath === 'stay' ? /stays at 60/ : /did not confirm its safe setpoint.*go and look/,
      )
      file.close()
    },
  )

  it('says that the bath did not confirm where it did not', async () => {
    settings('safe')
    const id = await box.station.startPlan({ plan: planOf([60]), operator: 'Test' })
    await box.clock.sleep(600_000)
    await box.lab.close()
    await box.clock.sleep(60_000)
    await box.station.depart('SIGTERM')
    await box.station.close()
    const file = openSessionFile(box.store.sessionPath(id), { mode: 'read' })
    expect(file.events({ kinds: ['plan-step'] }).at(-1)!.words).toMatch(
      /did not confirm its safe setpoint of 25 °C: go and look\.$/,
    )
    file.close()
  }, 30_000)
})

describe('PulseTaker', () => {
  it('counts from the first reading of this life, while every meter answers, and not where none runs', async () => {
    let nowMs = 0
    const taker = new PulseTaker(() => nowMs)
    expect(taker.take(undefined, true).silentS).toBe(0)
    await box.station.record({ operator: 'Test' })
    const run = box.station.session!
    expect(taker.take(run, true).silentS).toBe(0)
    nowMs = 500_000
    expect(taker.take(run, true).silentS).toBe(0)
    await box.clock.sleep(60_000)
    expect(taker.take(run, true).silentS).toBe(0)
    await box.station.close()
    expect(taker.take(run, true).silentS).toBe(0)
    nowMs += 130_000
    const { silentS, allowedS } = taker.take(run, true)
    expect(silentS).toBe(130)
    expect(allowedS).toBeGreaterThanOrEqual(120)
    expect(silentS).toBeGreaterThan(allowedS)
    expect(taker.take(run, false).silentS).toBe(0)
    expect(taker.take(run, true).silentS).toBe(0)
  })
})
