import type { Look } from '../../desk/walk.model.ts'
import type { Place } from '../../page/places.ts'
import { PLACES } from '../../page/places.ts'
import type { Box } from './placing.ts'

/** The page as the walk sees it: where a control stands, and how to get to it. */

const usable = (element: HTMLElement): boolean =>
  element.getClientRects().length > 0 &&
  !element.matches(':disabled, [data-disabled], [aria-disabled="true"]')

function matches(look: Look): HTMLElement[] {
  const room = document.getElementById('place')
  if (!room) return []
  if ('css' in look) return [...room.querySelectorAll<HTMLElement>(look.css)]
  return [...room.querySelectorAll<HTMLElement>('button')].filter(
    (button) => button.textContent?.trim() === look.button,
  )
}

export function findControl(looks: readonly Look[]): HTMLElement | undefined {
  for (const look of looks) {
    const found = matches(look).find(usable)
    if (found) return found
  }
  return undefined
}

/** The rail's button for a place. */
export function findPlace(place: Place): HTMLElement | undefined {
  const at = PLACES.findIndex(({ id }) => id === place)
  return document.querySelectorAll<HTMLElement>('.rail-place')[at]
}

export const questionOpen = (): boolean => document.querySelector('.veil') !== null

/** Brings a control into sight and gives it, or the first thing in it that can have it, the focus. */
export function goToControl(control: HTMLElement): void {
  control.scrollIntoView({ block: 'nearest' })
  const focusable = 'button, input, textarea, summary, [tabindex="0"], a[href]'
  const target = control.matches(focusable) ? control : control.querySelector<HTMLElement>(focusable)
  target?.focus()
}

/** What of a control is in sight: within the window's part above the state line, and within its place. */
export function visiblePart(control: HTMLElement, room: Box): Box | undefined {
  const box = control.getBoundingClientRect()
  const place = control.closest('#place')?.getBoundingClientRect()
  const left = Math.max(box.left, room.left)
  const right = Math.min(box.right, room.left + room.width)
  const top = Math.max(box.top, room.top, place?.top ?? room.top)
  const bottom = Math.min(box.bottom, room.top + room.height, place?.bottom ?? Number.POSITIVE_INFINITY)
  return right - left < 8 || bottom - top < 8
    ? undefined
    : { left, top, width: right - left, height: bottom - top }
}
