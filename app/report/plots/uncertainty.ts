import { zip } from '../../base/lists.ts'
import {
  axes,
  DASHES,
  type Frame,
  type PlotData,
  path,
  shortened,
  span,
  svgOf,
  type Theme,
  text,
} from './plot.ts'

type Uncertainty = Extract<PlotData, { type: 'uncertainty' }>
const FRAME: Frame = { width: 520, height: 214, left: 48, right: 178, top: 10, bottom: 34 }

/** Characters of a name that fit into the legend. */
const MOST = 32

/** Expanded uncertainty over the range, and the standard uncertainties that make most of it. */
export function drawUncertainty(plot: Uncertainty, theme: Theme): string {
  const xs = span(plot.celsius, 0.02)
  const top = Math.max(...plot.expandedMk, ...plot.parts.flatMap((p) => p.uMk))
  const { x, y, svg } = axes(
    FRAME,
    xs,
    [0, top * 1.05],
    { x: 'Temperature t90, °C', y: 'Uncertainty, mK' },
    theme,
    {
      x: 6,
      y: 5,
    },
  )
  const curve = (values: readonly number[]) =>
    path(zip(plot.celsius, values).map(([t, v]): [number, number] => [x(t), y(v)]))
  const at = FRAME.width - FRAME.right + 12
  const legend = (row: number, words: string, stroke: string, dash: string, width: number) => {
    const y0 = FRAME.top + 8 + row * 17
    return (
      `<line x1="${at}" x2="${at + 24}" y1="${y0}" y2="${y0}" stroke="${stroke}" stroke-width="${width}" stroke-dasharray="${dash || 'none'}"/>` +
      text(at + 30, y0 + 3, shortened(words, MOST), theme, { size: 8.5 })
    )
  }
  const parts = plot.parts.map((part, i) => {
    const stroke = theme.series[i % theme.series.length]!
    const dash = DASHES[(i + 1) % DASHES.length]!
    return (
      `<path d="${curve(part.uMk)}" fill="none" stroke="${stroke}" stroke-width="1.2" stroke-dasharray="${dash || 'none'}"/>` +
      legend(i + 1, part.name, stroke, dash, 1.2)
    )
  })
  const body =
    svg +
    parts.join('') +
    `<path d="${curve(plot.expandedMk)}" fill="none" stroke="${theme.ink}" stroke-width="2"/>` +
    legend(0, 'U, expanded', theme.ink, '', 2)
  return svgOf(FRAME, plot.title, body, theme)
}
