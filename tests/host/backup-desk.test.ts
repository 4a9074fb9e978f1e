import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { said } from '../../app/messages/said.ts'
import type { HostedStation } from '../../main/host/open-station.ts'
import type { Services } from '../../main/host/services.ts'
import type { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { readManifest } from '../../main/store/backup/manifest.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { startLab } from '../../simulator/lab.ts'
import { type EmptyHost, openEmptyHost } from './empty-host.ts'

let folder: string
let clock: VirtualClock
let hosted: HostedStation
let services: Services
let host: EmptyHost
let lab: Awaited<ReturnType<typeof startLab>>

beforeEach(async () => {
  host = await openEmptyHost()
  ;({ folder, clock, hosted, services } = host)
  lab = await startLab({ seed: 3, clock, scenario: 'quiet' })
  const { store, station } = hosted
  store.saveBench(lab.bench, 'test', 'test')
  for (const entry of lab.paperwork.thermometers) store.saveThermometer(entry, 'test', 'test')
  for (const entry of lab.paperwork.resistors) store.saveResistor(entry, 'test', 'test')
  station.chooseBench(lab.bench.id, 'test')
})
afterEach(async () => {
  await host.close()
  await lab.close()
})

const copies = () => join(folder, 'copies')
const choose = (backupFolder: string | null) => {
  hosted.store.saveSettings(services.settings({ backupFolder }), 'test')
  hosted.station.touched('settings')
}
async function recorded(): Promise<string> {
  const session = await hosted.station.record({ operator: 'Test' })
  await clock.sleep(60_000)
  hosted.station.stop('Test', 'enough')
  await hosted.station.finished
  return session
}

describe('BackupDesk', () => {
  it('copies a session when it has ended, and again when a note was added', async () => {
    mkdirSync(copies())
    choose(copies())
    const session = await recorded()
    await services.backups.caughtUp()
    const path = join(copies(), `${session}.stillpoint`)
    const copy = openSessionFile(path, { mode: 'read' })
    expect(copy.readingCount).toBe(services.sessions.read(session).readingCount)
    copy.close()
    expect(services.backups.copiedUtcUs(session)).toBeLessThanOrEqual(clock.now().utcUs)
    expect(services.backups.copiedUtcUs(session)).not.toBeNull()
    services.sessions.addEvents(session, [
      { kind: 'note', who: 'Test', said: said('note', { words: 'The stirrer hummed.' }) },
    ])
    expect(services.backups.copiedUtcUs(session)).toBeNull()
    hosted.station.touched('sessions')
    await services.backups.caughtUp()
    const again = openSessionFile(path, { mode: 'read' })
    expect(again.events({ kinds: ['note'] }).map((e) => e.words)).toEqual(['The stirrer hummed.'])
    again.close()
  })

  it('raises an alarm where the folder is away, and makes up for it once it is there', async () => {
    choose(copies())
    const session = await recorded()
    await services.backups.caughtUp()
    const alarm = () => hosted.station.alarms.list().find((a) => a.words.includes('backup folder'))
    expect(alarm()).toMatchObject({ active: true, severity: 'warning' })
    expect(services.backups.copiedUtcUs(session)).toBeNull()
    mkdirSync(copies())
    await clock.sleep(700_000)
    await services.backups.caughtUp()
    expect(services.backups.copiedUtcUs(session)).not.toBeNull()
    expect(alarm()).toMatchObject({ active: false })
  })

  it("copies the station's own records as well, now and then while they change, and all of it when asked", async () => {
    mkdirSync(copies())
    // At the wall's pace: time that jumps would pass the ten minutes while the disk is busy.
    clock.setSpeed(1)
    choose(copies())
    await services.backups.caughtUp()
    expect(existsSync(join(copies(), 'station.db'))).toBe(true)
    const ledger = () => readManifest(copies()).station!.ledger.n
    const before = ledger()
    hosted.store.saveBench({ ...lab.bench, name: 'Another name' }, 'test', 'test')
    hosted.station.touched('bench')
    hosted.station.touched('sessions')
    await services.backups.caughtUp()
    expect(ledger()).toBe(before)
    clock.setSpeed(Number.POSITIVE_INFINITY)
    await clock.sleep(700_000)
    await services.backups.caughtUp()
    expect(ledger()).toBe(before + 1)
    hosted.store.saveBench(lab.bench, 'test', 'test')
    expect(await services.backups.copyAll()).toMatch(/0 sessions copied and verified, 0 unchanged/)
    expect(ledger()).toBe(before + 2)
  })

  it('copies certificates that changed without a word in the ledger, within ten minutes', async () => {
    mkdirSync(copies())
    choose(copies())
    await services.backups.caughtUp()
    const place = join(hosted.store.folder, 'certificates/s-1')
    mkdirSync(place, { recursive: true })
    writeFileSync(join(place, 'C-1.pdf'), 'signed')
    hosted.station.touched('sessions')
    await services.backups.caughtUp()
    await clock.sleep(700_000)
    await services.backups.caughtUp()
    expect(readFileSync(join(copies(), 'certificates/s-1/C-1.pdf'), 'utf8')).toBe('signed')
  })

  it('copies nothing where no folder is chosen, and says so when asked', async () => {
    const session = await recorded()
    await services.backups.caughtUp()
    expect(services.backups.copiedUtcUs(session)).toBeNull()
    await expect(services.backups.copy(session)).rejects.toThrow('Choose one in the settings')
  })
})
