import { describe, expect, it } from 'vitest'
import { loadProfiles, replayTranscript } from '../../drivers/index.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'

const library = await loadProfiles()

describe('replayTranscript', () => {
  it.each([...library.profiles.values()].map((driver) => [driver.profile.id, driver] as const))(
    'finds that %s sends and understands exactly what its transcript says',
    async (_id, driver) => {
      expect(driver.profile.transcript.length).toBeGreaterThan(1)
      const clock = new VirtualClock({ startUtcUs: 0 })
      expect(await replayTranscript(driver, clock)).toEqual([])
      clock.stop()
    },
  )
})
