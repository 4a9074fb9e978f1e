import { describe, expect, it } from 'vitest'
import { loadProfiles, replayTranscript } from '../../drivers/index.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'

const library = await loadProfiles()

describe('loadProfiles', () => {
  it('finds no problem in the profiles that ship, one for each kind of instrument at least', () => {
    expect(library.problems).toEqual([])
    const roles = new Set([...library.profiles.values()].map((driver) => driver.profile.role))
    expect([...roles].sort()).toEqual(['bath', 'environment', 'meter', 'ratio-bridge', 'scanner'])
  })
})

describe('replayTranscript', () => {
  it.each(
    [...library.profiles.values()]
      .filter(({ profile, measure }) => measure === undefined && profile.format === 'stillpoint profile 1')
      .map((driver) => [driver.profile.id, driver] as const),
  )('finds that %s says and understands the same when it is written in format 2', async (_id, driver) => {
    const clock = new VirtualClock({ startUtcUs: 0 })
    const profile = { ...driver.profile, format: 'stillpoint profile 2' as const }
    expect(await replayTranscript({ ...driver, profile }, clock)).toEqual([])
    clock.stop()
  })

  it.each(['> INIT\n', '< +2.551234568E-01\n'])(
    'says what differs when the line %j is changed',
    async (line) => {
      const driver = library.profiles.get('lab-rb-8')!
      const changed = JSON.parse(
        JSON.stringify(driver.profile).replaceAll(
          JSON.stringify(line),
          JSON.stringify(line.replace(/[T5]/, '7')),
        ),
      )
      const clock = new VirtualClock({ startUtcUs: 0 })
      const problems = await replayTranscript({ ...driver, profile: changed }, clock)
      clock.stop()
      expect(problems.length).toBeGreaterThan(0)
    },
  )

  it.each(
    [...library.profiles.values()]
      .filter((driver) => driver.measure === undefined)
      .map((driver) => [driver.profile.id, driver] as const),
  )('finds that %s sends and understands exactly what its transcript says', async (_id, driver) => {
    expect(driver.profile.transcript.length).toBeGreaterThan(1)
    const clock = new VirtualClock({ startUtcUs: 0 })
    expect(await replayTranscript(driver, clock)).toEqual([])
    clock.stop()
  })
})
