import { last } from '../base/lists.ts'
import type { Channel } from '../records/bench.ts'
import { type Item, isAsked } from '../records/order.ts'
import type { Thermometer } from '../records/register.ts'

/** An item that waits, with the thermometer it is. */
export interface Waiting {
  readonly item: Item
  readonly thermometer: Thermometer
}

export interface BathRoom {
  /** What the bath, its fluid and the reference allow, degC. */
  readonly lowC: number
  readonly highC: number
  /** Channels for thermometers under test, in the order they are filled. */
  readonly channels: readonly Pick<Channel, 'id' | 'name' | 'thermometer'>[]
}

/** A night that items of several orders share. */
export interface BathFill {
  readonly placed: readonly { readonly item: string; readonly channel: string }[]
  /** Setpoints of all items joined, rising, degC. */
  readonly setpoints: readonly number[]
  /** Items that stay, each with the reason. */
  readonly left: readonly { readonly item: string; readonly words: string }[]
}

/** Setpoints nearer than this serve each other, K: the same as `isAsked` takes for one. */
const JOINED_K = 0.5
/** Points that a range without named temperatures is given: enough for its coefficients and one to spare. Common practice, no source. */
const POINTS_OF_RANGE = 5

/** Temperatures at which an item is wanted: those its customer names, else evenly over its range. */
export function wantedC({ asked }: Item): number[] {
  if (asked.points.length > 0) return [...asked.points].sort((a, b) => a - b)
  const { lowC, highC } = asked
  if (highC <= lowC) return [lowC]
  const step = (highC - lowC) / (POINTS_OF_RANGE - 1)
  return Array.from({ length: POINTS_OF_RANGE }, (_, i) => Number((lowC + i * step).toFixed(3)))
}

function misfit({ item, thermometer }: Waiting, room: BathRoom): string | undefined {
  const wanted = wantedC(item)
  const [low, high] = [Math.min(...wanted), Math.max(...wanted)]
  const range = (a: number, b: number) => `${a} to ${b} °C`
  if (low < room.lowC || high > room.highC)
    return `Asked for ${range(low, high)}; this bath holds ${range(room.lowC, room.highC)}.`
  if (high > thermometer.highC || low < thermometer.lowC)
    return `Asked for ${range(low, high)}; the thermometer itself is for ${range(thermometer.lowC, thermometer.highC)}.`
  return undefined
}

/** A setpoint of all would harm an item that stands in the bath meanwhile. */
function harmed({ thermometer }: Waiting, setpoints: readonly number[]): number | undefined {
  return setpoints.find((c) => c > thermometer.highC || c < thermometer.lowC)
}

/**
 * Which waiting items fit into one bath at one time: within bath and fluid, on a channel each, and none taken beyond
 * what its thermometer bears by a setpoint of another. First come, first placed. A thermometer that a channel already
 * names keeps that channel.
 */
export function fillBath(waiting: readonly Waiting[], room: BathRoom): BathFill {
  const placed: { item: string; channel: string }[] = []
  const inBath: Waiting[] = []
  const left: { item: string; words: string }[] = []
  const taken = new Set<string>()
  let setpoints: number[] = []
  const named = new Set(waiting.map(({ thermometer }) => thermometer.id))
  for (const one of waiting) {
    const say = (words: string) => left.push({ item: one.item.id, words })
    const words = misfit(one, room)
    if (words) {
      say(words)
      continue
    }
    const joined = joinSetpoints([...setpoints, ...wantedC(one.item)])
    const hot = [...inBath, one].find((w) => harmed(w, joined) !== undefined)
    if (hot) {
      say(`${harmed(hot, joined)} °C would be beyond what ${hot.thermometer.name} bears. Another night.`)
      continue
    }
    const channel =
      room.channels.find((c) => c.thermometer === one.thermometer.id && !taken.has(c.id)) ??
      room.channels.find((c) => !taken.has(c.id) && !(c.thermometer && named.has(c.thermometer)))
    if (!channel) {
      say('Every channel for a thermometer under test is taken.')
      continue
    }
    taken.add(channel.id)
    inBath.push(one)
    placed.push({ item: one.item.id, channel: channel.id })
    setpoints = joined
  }
  return { placed, setpoints, left }
}

/** Rising, each once; those that serve each other are one. */
function joinSetpoints(all: readonly number[]): number[] {
  const joined: number[] = []
  for (const celsius of all.toSorted((a, b) => a - b))
    if (joined.length === 0 || celsius - last(joined) > JOINED_K) joined.push(celsius)
  return joined
}

/** Which of a night's setpoints are an item's own. */
export const ownSetpoints = ({ asked }: Item, setpoints: readonly number[]): number[] =>
  setpoints.filter((celsius) => isAsked(asked, celsius))
