import { kindOf } from '../kinds/table.ts'
import type { Channel } from '../records/bench.ts'
import type { Thermometer } from '../records/register.ts'
import { mean, median } from '../statistics/centre.ts'
import type { EarlierChannel, EarlierNight, Repeated } from './earlier-night.ts'

/** What is expected of one channel tonight, by the nights before. */
export interface Expected {
  readonly rawUnit: string
  /** null: no night has shown how it repeats. */
  readonly inBath: Repeated | null
  readonly inCell: Repeated | null
  readonly heldS: number
  readonly driftMkPerMin: number
  readonly heating: EarlierChannel['heating']
  readonly memoryMkPerK: number
  readonly liftMk: number
  readonly insulationOhm: number | null
}

/** Repeatability of several nights together; JCGM 100:2008, 4.2.4 (pooled estimate of variance). */
function pooled(nights: readonly (Repeated | null)[]): Repeated | null {
  const told = nights.flatMap((n) => n ?? [])
  const points = told.reduce((sum, n) => sum + n.points, 0)
  if (points === 0) return null
  const over = (of: (n: Repeated) => number) => told.reduce((sum, n) => sum + n.points * of(n), 0) / points
  return { squareMk: over((n) => n.squareMk), effectivePart: over((n) => n.effectivePart), points }
}

/**
 * Of the nights' channels those most like one: the same thermometer on the same instrument, else one of its kind in its role
 * there, else one of its kind anywhere.
 */
function likest(channel: Channel, kind: string, nights: readonly EarlierNight[]): EarlierChannel[] {
  const all = nights.flatMap((n) => n.channels)
  const sameKind = all.filter((c) => c.kind === kind)
  const there = sameKind.filter((c) => c.channel.instrument === channel.instrument)
  const choices = [
    there.filter((c) => c.channel.thermometer === channel.thermometer),
    there.filter((c) => c.channel.role === channel.role),
    there,
    sameKind,
  ]
  return choices.find((c) => c.length > 0) ?? []
}

/** Its own figures with their sign, or of others of its kind the usual size. */
function systematic(own: readonly (number | null)[], others: readonly (number | null)[]): number {
  const told = own.filter((v) => v !== null)
  if (told.length > 0) return mean(told)
  return median(others.filter((v) => v !== null).map(Math.abs)) ?? 0
}

/** What a channel will do by the register and by the nights before. */
export function expectedOf(
  channel: Channel,
  thermometer: Thermometer,
  nights: readonly EarlierNight[],
): Expected {
  const like = likest(channel, thermometer.kind, nights)
  const own = like.filter((c) => c.channel.thermometer === thermometer.id)
  const others = nights.flatMap((n) => n.channels).filter((c) => c.kind === thermometer.kind)
  const heatings = like.flatMap((c) => c.heating ?? [])
  const usualUnit = kindOf(thermometer).signal === 'voltage' ? 'V' : channel.reference ? 'ratio' : 'ohm'
  return {
    rawUnit: like[0]?.rawUnit ?? usualUnit,
    inBath: pooled(like.map((c) => c.inBath)),
    inCell: pooled(like.map((c) => c.inCell)),
    heldS: median(like.map((c) => c.heldS)) ?? 0,
    driftMkPerMin: median(like.map((c) => c.driftMkPerMin)) ?? 0,
    heating:
      heatings.length === 0
        ? null
        : {
            mkPerOhm: mean(heatings.map((h) => h.mkPerOhm)),
            squareMk: mean(heatings.map((h) => h.squareMk)),
            pairs: Math.max(1, Math.round(mean(heatings.map((h) => h.pairs)))),
          },
    memoryMkPerK: systematic(
      own.map((c) => c.memoryMkPerK),
      others.map((c) => c.memoryMkPerK),
    ),
    liftMk: systematic(
      own.map((c) => c.liftMk),
      others.map((c) => c.liftMk),
    ),
    insulationOhm: median(like.flatMap((c) => c.insulationOhm ?? [])),
  }
}
