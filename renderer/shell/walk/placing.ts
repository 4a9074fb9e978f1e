import { at } from '../../../app/base/lists.ts'

/** Where the note of the walk stands: beside its control, in the room there is, and before nothing that is being used. */

export interface Box {
  left: number
  top: number
  width: number
  height: number
}

const GAP = 14

const overlap = (a: Box, b: Box): boolean =>
  a.left < b.left + b.width &&
  b.left < a.left + a.width &&
  a.top < b.top + b.height &&
  b.top < a.top + a.height

const within = (a: Box, room: Box): boolean =>
  a.left >= room.left &&
  a.top >= room.top &&
  a.left + a.width <= room.left + room.width &&
  a.top + a.height <= room.top + room.height

const clamp = (value: number, low: number, high: number): number => Math.max(low, Math.min(value, high))

/**
 * The box of a note of this size beside `target`: to the right, below, to the left or above, whichever first covers
 * neither it nor `used`. Without a target in sight, or where no side has room, a lower corner of the room.
 */
export function placeNote(
  note: { width: number; height: number },
  target: Box | undefined,
  used: readonly Box[],
  room: Box,
): Box {
  const right = room.left + room.width - note.width
  const bottom = room.top + room.height - note.height
  const corners: Box[] = [
    { ...note, left: room.left + GAP, top: bottom - GAP },
    { ...note, left: right - GAP, top: bottom - GAP },
    { ...note, left: right - GAP, top: room.top + GAP },
  ]
  const beside: Box[] = []
  if (target && overlap(target, room)) {
    const left = clamp(target.left, room.left + GAP, right - GAP)
    const top = clamp(target.top, room.top + GAP, bottom - GAP)
    beside.push(
      { ...note, left: target.left + target.width + GAP, top },
      { ...note, left, top: target.top + target.height + GAP },
      { ...note, left: target.left - note.width - GAP, top },
      { ...note, left, top: target.top - note.height - GAP },
    )
  }
  const places = [...beside, ...corners].filter((place) => within(place, room))
  const clear = (taken: readonly Box[]) => places.find((place) => !taken.some((box) => overlap(place, box)))
  const taken = target ? [target, ...used] : used
  return clear(taken) ?? clear(target ? [target] : []) ?? at(corners, 1)
}
