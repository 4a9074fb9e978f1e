import { scaleLinear } from 'd3-scale'
import { line } from 'd3-shape'
import { escapeMarkup } from '../../base/markup.ts'
import { decimalsOfStep } from '../../base/powers.ts'
import { printedProse } from '../prose.ts'

/** What a plot shows, as data: the JSON carries it, HTML and PDF draw it. */
export type PlotData =
  | {
      readonly type: 'residuals'
      readonly title: string
      readonly points: readonly {
        readonly celsius: number
        readonly residualMk: number
        readonly expandedMk: number
        readonly included: boolean
      }[]
      readonly band: readonly { readonly celsius: number; readonly expandedMk: number }[]
    }
  | {
      readonly type: 'uncertainty'
      readonly title: string
      readonly celsius: readonly number[]
      readonly expandedMk: readonly number[]
      readonly parts: readonly { readonly name: string; readonly uMk: readonly number[] }[]
    }
  | {
      readonly type: 'budget'
      readonly title: string
      readonly lines: readonly { readonly name: string; readonly uMk: number; readonly kind: 'A' | 'B' }[]
    }
  | {
      readonly type: 'settling'
      readonly title: string
      readonly panels: readonly {
        readonly label: string
        /** Minutes from the start of the point, and the reference's deviation from the point's mean. */
        readonly minutes: readonly number[]
        readonly mk: readonly number[]
        readonly endMinutes: number
      }[]
    }
  | {
      readonly type: 'chart'
      readonly title: string
      readonly unit: string
      readonly points: readonly { readonly date: string; readonly value: number; readonly expanded: number }[]
      readonly centre: number
      readonly limits: { readonly warning: number; readonly action: number } | null
    }

/** Colours by use, so that one drawing serves light, dark and print. */
export interface Theme {
  readonly ink: string
  readonly soft: string
  readonly grid: string
  readonly ground: string
  readonly accent: string
  readonly band: string
  readonly series: readonly string[]
  /** Font family of every word in the drawing. */
  readonly font: string
  readonly decimalSign: '.' | ','
}

/** Series colours that stay apart in the common kinds of colour blindness; each also has a dash and a marker. */
const SERIES = ['#1f5f8b', '#b45a1e', '#3a7d44', '#7a4a8c', '#8a7a1a', '#5a5a5a']

export const PRINT_THEME: Theme = {
  ink: '#1c2226',
  soft: '#57636b',
  grid: '#d5dbde',
  ground: '#ffffff',
  accent: '#1f5f8b',
  band: '#dbe8f0',
  series: SERIES,
  font: 'Roboto',
  decimalSign: '.',
}

/** In a page the colours are the page's own, light or dark. */
export const PAGE_THEME: Theme = {
  ink: 'var(--ink)',
  soft: 'var(--soft)',
  grid: 'var(--grid)',
  ground: 'var(--ground)',
  accent: 'var(--accent)',
  band: 'var(--band)',
  series: SERIES.map((_, i) => `var(--series-${i + 1})`),
  font: 'inherit',
  decimalSign: '.',
}

export const DASHES = ['', '6 3', '2 2', '8 3 2 3', '4 2', '1 3']

export interface Frame {
  readonly width: number
  readonly height: number
  readonly left: number
  readonly right: number
  readonly top: number
  readonly bottom: number
}

const short = (value: number): string => String(Number(value.toFixed(2)))

/** Words cut to a length, with a sign that they were. */
export const shortened = (words: string, most: number): string =>
  words.length <= most ? words : `${words.slice(0, most - 1).trimEnd()}…`

const LABEL = /^−?\d+\.\d+$/

export function text(
  x: number,
  y: number,
  words: string,
  theme: Theme,
  options: {
    anchor?: 'start' | 'middle' | 'end'
    size?: number
    soft?: boolean
    rotate?: boolean
    bold?: boolean
  } = {},
): string {
  const { anchor = 'start', size = 9, soft = false, rotate = false, bold = false } = options
  const turn = rotate ? ` transform="rotate(-90 ${short(x)} ${short(y)})"` : ''
  const weight = bold ? ' font-weight="600"' : ''
  const shown = LABEL.test(words)
    ? words.replace('.', theme.decimalSign)
    : printedProse(words, theme.decimalSign)
  return (
    `<text x="${short(x)}" y="${short(y)}" font-size="${size}" text-anchor="${anchor}"${weight} ` +
    `fill="${soft ? theme.soft : theme.ink}"${turn}>${escapeMarkup(shown)}</text>`
  )
}

/** A tick's label: as many decimals as the step needs, a true minus sign. */
export function tickLabel(value: number, step: number): string {
  const words = value.toFixed(decimalsOfStep(step, 6))
  return (Number(words) === 0 ? words.replace('-', '') : words).replace('-', '−')
}

export interface Axes {
  readonly x: (value: number) => number
  readonly y: (value: number) => number
  readonly svg: string
}

/** Axes with a grid and labels; domains are widened to whole ticks. */
export function axes(
  frame: Frame,
  xDomain: readonly [number, number],
  yDomain: readonly [number, number],
  labels: { x: string; y: string },
  theme: Theme,
  ticks: { x: number; y: number } = { x: 7, y: 5 },
): Axes {
  const x = scaleLinear([xDomain[0], xDomain[1]], [frame.left, frame.width - frame.right])
  const y = scaleLinear([yDomain[0], yDomain[1]], [frame.height - frame.bottom, frame.top]).nice(ticks.y)
  const parts: string[] = []
  const yTicks = y.ticks(ticks.y)
  const yStep = (yTicks[1] ?? 1) - (yTicks[0] ?? 0)
  for (const value of yTicks) {
    const at = short(y(value))
    parts.push(
      `<line x1="${frame.left}" x2="${frame.width - frame.right}" y1="${at}" y2="${at}" stroke="${theme.grid}" stroke-width="0.6"/>`,
      text(frame.left - 5, y(value) + 3, tickLabel(value, yStep), theme, {
        anchor: 'end',
        size: 8.5,
        soft: true,
      }),
    )
  }
  const xTicks = x.ticks(ticks.x)
  const xStep = (xTicks[1] ?? 1) - (xTicks[0] ?? 0)
  const base = frame.height - frame.bottom
  for (const value of xTicks) {
    const at = short(x(value))
    parts.push(
      `<line x1="${at}" x2="${at}" y1="${base}" y2="${base + 4}" stroke="${theme.soft}" stroke-width="0.6"/>`,
      text(x(value), base + 14, tickLabel(value, xStep), theme, { anchor: 'middle', size: 8.5, soft: true }),
    )
  }
  parts.push(
    `<line x1="${frame.left}" x2="${frame.width - frame.right}" y1="${base}" y2="${base}" stroke="${theme.soft}" stroke-width="0.8"/>`,
    text((frame.left + frame.width - frame.right) / 2, frame.height - 5, labels.x, theme, {
      anchor: 'middle',
    }),
    text(11, (frame.top + base) / 2, labels.y, theme, { anchor: 'middle', rotate: true }),
  )
  return { x: (v) => x(v), y: (v) => y(v), svg: parts.join('') }
}

/** A path through points; gaps where a value is not finite. */
export function path(points: readonly (readonly [number, number])[]): string {
  return (
    line<readonly [number, number]>()
      .defined(([, b]) => Number.isFinite(b))
      .x(([a]) => a)
      .y(([, b]) => b)
      .digits(2)([...points]) ?? ''
  )
}

export function svgOf(
  frame: Pick<Frame, 'width' | 'height'>,
  title: string,
  body: string,
  theme: Theme,
): string {
  return (
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${frame.width} ${frame.height}" width="${frame.width}" ` +
    `height="${frame.height}" role="img" font-family="${theme.font}"><title>${escapeMarkup(title)}</title>${body}</svg>`
  )
}

/** Lowest and highest of some values with a margin, never of no width. */
export function span(values: readonly number[], margin = 0.08): [number, number] {
  const finite = values.filter(Number.isFinite)
  if (finite.length === 0) return [0, 1]
  const low = Math.min(...finite)
  const high = Math.max(...finite)
  const room = high > low ? (high - low) * margin : Math.max(1, Math.abs(high) * margin)
  return [low - room, high + room]
}
