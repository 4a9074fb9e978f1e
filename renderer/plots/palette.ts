/**
 * Eight series told apart by hue and lightness also with colour-blind eyes; after eight the dash changes, so that 96
 * channels are 8 colours by 6 dashes by 2 widths. No red or amber: those belong to alarms.
 */
const LIGHT = ['#1f5fa8', '#8a6500', '#00735f', '#9c3f86', '#2b8bb5', '#3c3a35', '#5a4fa0', '#5f7300']
const DARK = ['#7db4f0', '#d9b24c', '#4cc3a8', '#e08fcb', '#79cdec', '#d8d4cb', '#aaa2ec', '#b3c65a']

export const DASHES: readonly (readonly number[])[] = [[], [7, 3], [2, 3], [10, 3, 2, 3], [4, 2], [12, 4]]
export const MARKERS = ['circle', 'square', 'diamond', 'triangle-up', 'cross', 'x', 'triangle-down', 'star'] as const

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
    colour: colours[i % colours.length]!,
    dash: DASHES[turn % DASHES.length]!,
    marker: MARKERS[(i + turn) % MARKERS.length]!,
    width: turn >= DASHES.length ? 2.25 : 1.5,
  }
}

/** Whether dark is on, whatever asked for it. */
export const isDark = (): boolean => document.documentElement.dataset['theme'] === 'dark'

export const cssColour = (name: string): string =>
  getComputedStyle(document.documentElement).getPropertyValue(name).trim()
