import { describe, expect, it } from 'vitest'
import { failsForCertain, quickVerdict } from '../../../app/live/quick-verdict.ts'
import { RollingSums } from '../../../app/live/rolling-sums.ts'
import { Track } from '../../../app/live/track.ts'
import { judgeWindow } from '../../../app/live/window-judgement.ts'
import { SettlingRule } from '../../../app/records/plan.ts'
import { randomStream } from '../../../simulator/physics/randomness.ts'

/** Walks a bath that dies down through its window, with limits near which many of its windows lie. */
function walk(seed: number, each: (whole: boolean, quick: boolean | null, certain: boolean) => void): void {
  const noise = randomStream(seed, 'quick')
  const memory = [0, 0.5, 0.95, 0.99][seed % 4]!
  const rule = SettlingRule.parse({
    windowS: 200,
    driftMkPerMin: 0.1 + 0.4 * noise.uniform(),
    spreadMk: 0.3 + 0.3 * noise.uniform(),
    bandK: 0.001 + 0.01 * noise.uniform(),
    holdS: 60,
  })
  const look = { rule, targetC: seed % 3 === 0 ? null : 50, notBeforeS: 20 }
  const track = new Track(300)
  const sums = new RollingSums()
  let slow = 0
  for (let t = 0; t < 1200; t += 1 + (seed % 5)) {
    slow = memory * slow + 0.0003 * Math.sqrt(1 - memory ** 2) * noise.normal()
    track.push(t, 50 - 3 * Math.exp(-t / 60) + slow, t % 13 !== 0)
    const fromS = Math.max(t - rule.windowS, look.notBeforeS)
    const certain = sums.follow(track, fromS, t) && failsForCertain(look, sums)
    each(
      judgeWindow(rule, track, t, look.targetC, look.notBeforeS).within,
      quickVerdict(look, track, t),
      certain,
    )
  }
}

describe('quickVerdict', () => {
  it('is the verdict of the full judgement wherever it gives one, and nearly always gives one', () => {
    const seen = { within: 0, not: 0, open: 0 }
    for (let seed = 0; seed < 24; seed++) {
      walk(seed, (whole, quick) => {
        if (quick === null) seen.open += 1
        else {
          expect(quick).toBe(whole)
          seen[whole ? 'within' : 'not'] += 1
        }
      })
    }
    expect(seen.within).toBeGreaterThan(200)
    expect(seen.not).toBeGreaterThan(1000)
    expect(seen.open).toBeLessThan(0.02 * (seen.within + seen.not))
  })
})

describe('failsForCertain', () => {
  it('never fails a window that the full judgement passes, and spares most of those it fails', () => {
    let failed = 0
    let certainly = 0
    for (let seed = 0; seed < 24; seed++) {
      walk(seed, (whole, _, certain) => {
        if (certain) expect(whole).toBe(false)
        if (!whole) failed += 1
        if (certain) certainly += 1
      })
    }
    expect(certainly).toBeGreaterThan(0.5 * failed)
  })
})
