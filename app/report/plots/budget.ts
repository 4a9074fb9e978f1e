import { scaleLinear } from 'd3-scale'
import { type PlotData, shortened, svgOf, type Theme, text, tickLabel } from './plot.ts'

type Budget = Extract<PlotData, { type: 'budget' }>
const LEFT = 250
/** Characters of a name that fit left of the bars. */
const MOST = 66
const ROW = 15

/** What dominates a budget: one bar for each component, largest first; Type A hatched by an outline. */
export function drawBudget(plot: Budget, theme: Theme): string {
  const width = 520
  const height = plot.lines.length * ROW + 30
  const largest = Math.max(1e-9, ...plot.lines.map((l) => l.uMk))
  const x = scaleLinear([0, largest], [LEFT, width - 52]).nice(4)
  const ticks = x.ticks(4)
  const step = (ticks[1] ?? 1) - (ticks[0] ?? 0)
  const base = plot.lines.length * ROW + 4
  const grid = ticks.map(
    (v) =>
      `<line x1="${x(v).toFixed(2)}" x2="${x(v).toFixed(2)}" y1="2" y2="${base}" stroke="${theme.grid}" stroke-width="0.6"/>` +
      text(x(v), base + 11, tickLabel(v, step), theme, { anchor: 'middle', size: 8, soft: true }),
  )
  const bars = plot.lines.map((l, i) => {
    const y = 4 + i * ROW
    const fill = l.kind === 'A' ? theme.ground : theme.accent
    return (
      text(LEFT - 6, y + 8.5, shortened(l.name, MOST), theme, { anchor: 'end', size: 8 }) +
      `<rect x="${LEFT}" y="${y}" width="${Math.max(0.4, x(l.uMk) - LEFT).toFixed(2)}" height="${ROW - 5}" fill="${fill}" stroke="${theme.accent}" stroke-width="0.8"/>` +
      text(x(l.uMk) + 5, y + 8.5, l.uMk >= 0.095 ? l.uMk.toFixed(2) : l.uMk.toPrecision(1), theme, {
        size: 8,
        soft: true,
      })
    )
  })
  const caption = text(width - 52, base + 22, 'standard uncertainty, mK (outlined: Type A)', theme, {
    anchor: 'end',
    size: 8,
    soft: true,
  })
  return svgOf({ width, height }, plot.title, grid.join('') + bars.join('') + caption, theme)
}
