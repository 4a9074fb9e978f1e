import { rmSync } from 'node:fs'
import { COMPARING, computeAgain, shortNight } from '../station/point-proof.ts'

/** Nights of every scenario that compares, each computed again: proved, replayed with nothing changed, a remark amended. */
export async function pointsAgain(seeds: number, first: number): Promise<{ good: boolean; lines: string[] }> {
  const lines: string[] = []
  let good = true
  for (const scenario of COMPARING) {
    let points = 0
    const unlikes: string[] = []
    for (let seed = first; seed < first + seeds; seed++) {
      const night = await shortNight(scenario, seed)
      const { points: taken, unlike } = computeAgain(night)
      rmSync(night.folder, { recursive: true })
      points += taken
      for (const [what, keys] of Object.entries(unlike)) {
        if (keys.length > 0) unlikes.push(`  seed ${seed}, ${what}: ${keys.slice(0, 3).join('; ')}`)
      }
    }
    good &&= unlikes.length === 0 && points > 0
    lines.push(
      `${scenario}: ${seeds} seeds, ${points} points, ${unlikes.length === 0 ? '0 numbers differ' : 'not the same:'}`,
      ...unlikes,
    )
  }
  return { good, lines }
}
