import { join } from 'node:path'
import { afterEach, describe, expect, it, vi } from 'vitest'
import { laboratoryCommand } from '../../main/host/commands/laboratory.ts'
import { openHostedStation } from '../../main/host/open-station.ts'
import { Services } from '../../main/host/services.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { temporaryFolder } from '../store/example.ts'
import { enterKeeper, KEEPER } from './keeper.ts'

/** A data folder whose station has somebody who may administer it. */
async function stationFolder(): Promise<string> {
  const folder = join(temporaryFolder(), 'data')
  const hosted = await openHostedStation({ folder, clock: new RealClock(), clockKind: 'real' })
  const services = new Services(hosted)
  await enterKeeper(services)
  await services.close()
  await hosted.close()
  return folder
}

const run = (...given: string[]) => laboratoryCommand().exitOverride().parseAsync(given, { from: 'user' })

/** What a folder says of itself: its identity, and what the ledger has of it. */
function look(folder: string) {
  const store = openStationStore(folder, { clock: new RealClock() })
  try {
    const said = store.ledger({}).filter(({ what }) => what.startsWith('identity'))
    return { station: store.station, said: said.map(({ what, who }) => `${what} by ${who}`) }
  } finally {
    store.close()
  }
}

describe('stillpoint laboratory', () => {
  afterEach(() => {
    vi.unstubAllEnvs()
    vi.restoreAllMocks()
  })

  it('gives a copied folder an identity of its own, and lets the one that is left go on under its', async () => {
    vi.stubEnv('STILLPOINT_PASSWORD', KEEPER.password)
    const told = vi.spyOn(console, 'log').mockImplementation(() => undefined)
    const folder = await stationFolder()
    const before = look(folder)
    await run('take-identity', '--data', folder, '--who', KEEPER.name)
    expect(look(folder)).toEqual({ station: before.station, said: [`identity taken by ${KEEPER.name}`] })
    await run('new-identity', '--data', folder, '--who', KEEPER.name)
    const after = look(folder)
    expect(after.station).not.toBe(before.station)
    expect(after.said.toSorted()).toEqual([
      `identity changed by ${KEEPER.name}`,
      `identity taken by ${KEEPER.name}`,
    ])
    expect(told.mock.calls.flat().join(' ')).toMatch(/goes on as the station.*a station of its own now/s)
  })

  it('does nothing for whoever may not, and says what is missing', async () => {
    const folder = await stationFolder()
    const { station } = look(folder)
    await expect(run('new-identity', '--data', folder, '--who', KEEPER.name)).rejects.toThrow(
      /A password is needed/,
    )
    vi.stubEnv('STILLPOINT_PASSWORD', 'not the one at all')
    await expect(run('new-identity', '--data', folder, '--who', KEEPER.name)).rejects.toThrow()
    expect(look(folder)).toMatchObject({ station, said: [] })
  })
})
