import { at, last } from '../base/lists.ts'
import type { Bench, Channel } from '../records/bench.ts'
import { byMeter, type Pace, visitS } from './estimate.ts'

/** How often a bath is asked for what its panel shows, s: each answer is a reading too. */
const BATH_EVERY_S = 10

/**
 * Readings that one visit after another brings, those that are marked as settling counted: a meter sets its current and closes
 * its own input with a measurement, and lowers a current on the path before; what a channel discards anyway serves for that.
 */
function ofVisit(channel: Channel, before: Channel): number {
  if (channel === before) return channel.readings
  const lowers = channel.currentMa < before.currentMa
  const sets =
    channel.currentMa > before.currentMa || (channel.settleMs > 0 && channel.input !== before.input)
  return channel.readings + Number(lowers) + Math.max(channel.discard, Number(sets))
}

/** Readings that a bench brings in a time, s: every bridge and meter scans its own channels in turn, beside the others. */
export function readingsIn(seconds: number, bench: Bench, pace: Pace): number {
  const perSecond = byMeter(bench).map((channels) => {
    const scanS = Math.max(
      0.1,
      bench.scanEveryS,
      channels.reduce((sum, c) => sum + visitS(c, pace), 0),
    )
    return (
      channels.reduce((sum, c, i) => sum + ofVisit(c, i === 0 ? last(channels) : at(channels, i - 1)), 0) /
      scanS
    )
  })
  const ofBath = bench.bath?.instrument === undefined ? 0 : 1 / BATH_EVERY_S
  return Math.round(seconds * perSecond.reduce((sum, n) => sum + n, ofBath))
}
