import type { Point } from './point.ts'

type Places = NonNullable<Point['places']>

const PLACE = 'place '

/** Every thermometer in the place of its own: the first in place 1. */
export const ownPlaces = (channels: readonly string[]): Places =>
  channels.map((channel, i) => ({ channel, place: `${PLACE}${i + 1}` }))

/** Number of a place, from 1. */
export const numberOfPlace = (place: string): number => Number(place.slice(PLACE.length))

/**
 * Where everybody stands after an exchange: each in the next one's place, and after the next exchange back in its own, so that
 * what two exchanges tell is of the same two arrangements.
 */
export function exchangedPlaces(now: Places): Places {
  const own = ownPlaces(now.map(({ channel }) => channel))
  const atHome = own.every(({ place }, i) => place === now[i]!.place)
  return atHome ? own.map(({ channel }, i) => ({ channel, place: own[(i + 1) % own.length]!.place })) : own
}
