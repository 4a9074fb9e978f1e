import { readFileSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import pino from 'pino'
import { describe, expect, it, onTestFinished } from 'vitest'
import { openInstrument } from '../../drivers/index.ts'
import { openProfileShelf } from '../../main/host/profile-shelf.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import { Station } from '../../main/station/station.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { temporaryFolder } from '../store/example.ts'

const GOOD = readFileSync(join(import.meta.dirname, '../../drivers/profiles/lab-rb-8.json'), 'utf8').replace(
  '"lab-rb-8"',
  '"our-bridge"',
)

async function until(what: () => boolean): Promise<void> {
  for (let attempt = 0; attempt < 200; attempt++) {
    if (what()) return
    await new Promise((resolve) => setTimeout(resolve, 50))
  }
  throw new Error('it did not come about within 10 s')
}

async function setUp() {
  const folder = temporaryFolder()
  const log = pino({ level: 'silent' })
  const clock = new RealClock()
  const store = openStationStore(folder, { clock })
  const shelf = await openProfileShelf(folder, log)
  const station = new Station({
    folder,
    clock,
    store,
    profileTexts: () => shelf.texts,
    openInstrument: (spec) => openInstrument({ spec, clock, profiles: shelf }),
    log,
    program: 'Stillpoint',
    programVersion: '0.1.0',
  })
  shelf.onDidChange = (ids) => void station.profilesChanged(ids)
  onTestFinished(async () => {
    shelf.close()
    await station.close()
    store.close()
  })
  const link = { kind: 'tcp' as const, host: '127.0.0.1', port: 9 }
  const bench = {
    id: 'bench',
    name: 'Bench',
    instruments: [{ id: 'bridge', name: 'Bridge', profile: 'our-bridge', link }],
    channels: [],
    scanEveryS: 1,
  }
  store.saveBench(bench, 'test', '')
  const words = () => station.links.views(bench)[0]!.words
  return { shelf, station, words, file: join(shelf.folder, 'our-bridge.json') }
}

describe('ProfileShelf', () => {
  it('shows an error of a profile on the bench with file and line, and takes the mended file without a restart', async () => {
    const { station, words, file } = await setUp()
    writeFileSync(file, GOOD.replace('"ratio-bridge"', '"ratio-brdge"'))
    await until(() => station.versions.bench > 0)
    await station.connect()
    const line = GOOD.split('\n').findIndex((text) => text.includes('"ratio-bridge"')) + 1
    expect(words()).toContain(`The profile "our-bridge" cannot be used: ${file}:${line}:`)
    expect(words()).toContain('Mend the file')
    await expect(station.record({ operator: 'A. Person' })).rejects.toThrow(`${file}:${line}`)
    writeFileSync(file, GOOD)
    // It is made anew by itself: from then on it is the wire that is missing.
    await until(() => !words().includes('cannot be used'))
    await until(() => /refused the connection/.test(words()))
    writeFileSync(file, '{ "id": "our-bridge", ')
    await until(() => words().includes('not JSON: '))
    rmSync(file)
    await until(() => words().includes('There is no profile "our-bridge"; there are: '))
  }, 60_000)

  it('does not read a file that no profile could be', async () => {
    const { shelf, file } = await setUp()
    writeFileSync(file, ' '.repeat(1_000_001))
    await until(() => shelf.problems.length > 0)
    expect(shelf.problems[0]).toMatchObject({
      id: 'our-bridge',
      sentence: 'the file has 1000001 bytes; a profile has at most 1000000',
    })
  })
})
