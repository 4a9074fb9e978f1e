import { describe, expect, it } from 'vitest'
import { failsForCertain } from '../../../app/live/quick-verdict.ts'
import { RollingSums } from '../../../app/live/rolling-sums.ts'
import { rollingVerdict } from '../../../app/live/rolling-verdict.ts'
import { Track } from '../../../app/live/track.ts'
import { judgeWindow } from '../../../app/live/window-judgement.ts'
import { SettlingRule } from '../../../app/records/plan.ts'
import { varianceInflation } from '../../../app/statistics/autocorrelation.ts'
import { randomStream } from '../../../simulator/physics/randomness.ts'

/** A bath that dies down, is disturbed and dies down again, with limits near which many of its windows lie. */
function walk(seed: number, each: (whole: boolean, rolling: boolean | null) => void): void {
  const noise = randomStream(seed, 'rolling')
  const memory = [0, 0.5, 0.95, 0.995][seed % 4]!
  const rule = SettlingRule.parse({
    windowS: 150,
    driftMkPerMin: 0.1 + 0.5 * noise.uniform(),
    spreadMk: 0.3 + 0.3 * noise.uniform(),
    bandK: 0.001 + 0.01 * noise.uniform(),
    holdS: 60,
    confidence: seed % 5 === 0 ? 0.6 : 0.95,
  })
  const look = { rule, targetC: seed % 3 === 0 ? null : 50, notBeforeS: 20 }
  const track = new Track(300)
  const sums = new RollingSums()
  let slow = 0
  for (let t = 0; t < 2400; t += 1) {
    slow = memory * slow + 0.0003 * Math.sqrt(1 - memory ** 2) * noise.normal()
    // Readings come a little early or late, some do not count, and for a while there are none.
    if (seed % 6 === 5 && t > 700 && t < 760) continue
    const timeS = t + 0.2 * noise.uniform()
    const since = t < 1300 ? t : t - 1300
    track.push(timeS, 50 - 3 * Math.exp(-since / 60) + slow, t % 13 !== 0)
    if (!sums.follow(track, Math.max(timeS - rule.windowS, look.notBeforeS), timeS))
      throw new Error('in order')
    // As a station asks: not where a window fails anyway, so that the sums have stretches to catch up with.
    if (failsForCertain(look, sums)) continue
    each(
      judgeWindow(rule, track, timeS, look.targetC, look.notBeforeS).within,
      rollingVerdict(look, sums, timeS),
    )
  }
}

describe('rollingVerdict', () => {
  it('is the verdict of the full judgement wherever it gives one, and nearly always gives one', () => {
    const seen = { within: 0, not: 0, open: 0 }
    for (let seed = 0; seed < 24; seed++) {
      walk(seed, (whole, rolling) => {
        if (rolling === null) seen.open += 1
        else {
          expect(rolling).toBe(whole)
          seen[whole ? 'within' : 'not'] += 1
        }
      })
    }
    expect(seen.within).toBeGreaterThan(2000)
    expect(seen.not).toBeGreaterThan(2000)
    expect(seen.open).toBeLessThan(0.05 * (seen.within + seen.not))
  })
})

describe('RollingLags', () => {
  it('gives the products of residuals that going through the window gives, lag after lag', () => {
    const noise = randomStream(3, 'lags')
    const track = new Track(400)
    const sums = new RollingSums()
    let compared = 0
    let slow = 0
    for (let t = 0; t < 1500; t += 1) {
      slow = 0.98 * slow + 0.001 * noise.normal()
      track.push(t, 20 + 1e-4 * t + slow, true)
      sums.follow(track, t - 200, t)
      if (t < 250 || t % 3 === 0 || (t > 600 && t < 700)) continue
      const times = Array.from(track.timesS).slice(-sums.n)
      const values = Array.from(track.celsius).slice(-sums.n)
      const { n } = sums
      const mean = sums.x / n
      const slope = (sums.tx - sums.t * mean) / (sums.tt - sums.t ** 2 / n)
      sums.lags.ask(sums.x, sums.t, mean - (slope * sums.t) / n, slope)
      const meanTime = times.reduce((sum, time) => sum + time, 0) / n
      const meanC = values.reduce((sum, value) => sum + value, 0) / n
      const residuals = values.map((value, i) => value - meanC - slope * (times[i]! - meanTime))
      // How many are asked for changes from look to look, so that some are kept up and some begun.
      const asked = 1 + (t % 37)
      for (let lag = 1; lag <= Math.min(asked, 32); lag++) {
        let expected = 0
        for (let i = lag; i < n; i++) expected += residuals[i]! * residuals[i - lag]!
        expect(Math.abs(sums.lags.next() - expected)).toBeLessThan(1e-9 * n * 1e-6)
        compared += 1
      }
      expect(varianceInflation(Float64Array.from(residuals), 2)).toBeGreaterThan(1)
    }
    expect(compared).toBeGreaterThan(5000)
  })
})
