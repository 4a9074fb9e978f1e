import { at } from '../../app/base/lists.ts'

/**
 * Eight series told apart by hue and lightness also with colour-blind eyes, each repeated by a dash and a marker, so
 * that 96 channels are 8 colours, 6 dashes, 8 markers and 2 widths. No red or amber: those belong to alarms.
 */
const LIGHT = ['#1f5fa8', '#8a6500', '#00735f', '#9c3f86', '#2b8bb5', '#3c3a35', '#5a4fa0', '#5f7300']
const DARK = ['#7db4f0', '#d9b24c', '#4cc3a8', '#e08fcb', '#79cdec', '#d8d4cb', '#aaa2ec', '#b3c65a']

export const DASHES: readonly (readonly number[])[] = [[], [7, 3], [2, 3], [10, 3, 2, 3], [4, 2], [12, 4]]
export const MARKERS = [
  'circle',
  'square',
  'diamond',
  'triangle-up',
  'cross',
  'x',
  'triangle-down',
  'star-diamond',
] as const

export interface SeriesLook {
  colour: string
  dash: readonly number[]
  marker: (typeof MARKERS)[number]
  width: number
}

export function seriesLook(i: number, dark: boolean): SeriesLook {
  const colours = dark ? DARK : LIGHT
  const turn = Math.floor(i / colours.length)
  return {
    colour: at(colours, i % colours.length),
    dash: at(DASHES, (i + turn) % DASHES.length),
    marker: at(MARKERS, (i + turn) % MARKERS.length),
    width: turn >= DASHES.length ? 2.25 : 1.5,
  }
}

/** Whether dark is on, whatever asked for it. */
export const isDark = (): boolean => document.documentElement.dataset.theme === 'dark'

export const cssColour = (name: string): string =>
  getComputedStyle(document.documentElement).getPropertyValue(name).trim()

/** A marker as a path about the origin in a box of 2 by 2, for canvas and SVG alike. */
export const MARKER_PATHS: Record<SeriesLook['marker'], string> = {
  circle: 'M1 0A1 1 0 1 1-1 0A1 1 0 1 1 1 0Z',
  square: 'M-.9-.9H.9V.9H-.9Z',
  diamond: 'M0-1.2L1.2 0L0 1.2L-1.2 0Z',
  'triangle-up': 'M0-1.1L1.1 .9H-1.1Z',
  cross: 'M-.4-1.1H.4V-.4H1.1V.4H.4V1.1H-.4V.4H-1.1V-.4H-.4Z',
  x: 'M-1.1-.6L-.6-1.1L0-.5L.6-1.1L1.1-.6L.5 0L1.1 .6L.6 1.1L0 .5L-.6 1.1L-1.1 .6L-.5 0Z',
  'triangle-down': 'M0 1.1L1.1-.9H-1.1Z',
  'star-diamond': 'M0-1.3L.4-.4L1.3 0L.4 .4L0 1.3L-.4 .4L-1.3 0L-.4-.4Z',
}
