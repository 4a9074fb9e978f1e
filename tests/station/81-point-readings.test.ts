import { rmSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { openSessionFile } from '../../main/store/session-file.ts'
import { COMPARING, computeAgain, shortNight } from './point-proof.ts'

describe('a point computed again', () => {
  it.each(COMPARING.map((scenario, i) => [scenario, i + 1] as const))(
    'is the point that was taken, in the scenario %s',
    async (scenario, seed) => {
      const night = await shortNight(scenario, seed)
      try {
        const { points, unlike } = computeAgain(night)
        expect(points).toBeGreaterThan(0)
        expect(unlike).toEqual({ proved: [], replayed: [], amended: [], doubts: [], asOlder: [] })
        const file = openSessionFile(night.path, { mode: 'read' })
        const listed = file.database.prepare('SELECT count(*) FROM point_reading').pluck().get()
        expect(listed).toBe(file.points().reduce((sum, p) => sum + p.readings!.length, 0))
        file.close()
      } finally {
        rmSync(night.folder, { recursive: true })
      }
    },
    120_000,
  )
})
