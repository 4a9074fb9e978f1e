import { zip } from '../../base/lists.ts'
import { axes, type Frame, type PlotData, path, span, svgOf, type Theme, text } from './plot.ts'

type Chart = Extract<PlotData, { type: 'chart' }>
const FRAME: Frame = { width: 520, height: 180, left: 54, right: 60, top: 10, bottom: 34 }
const YEAR_MS = 365.25 * 86_400_000

const years = (date: string) => 1970 + Date.parse(date) / YEAR_MS

/** A control chart: values over the years, their mean, and the limits of warning and action. */
export function drawChart(plot: Chart, theme: Theme): string {
  const at = plot.points.map((p) => years(p.date))
  const limits = plot.limits ? [plot.limits.warning, plot.limits.action] : []
  const ys = span([
    ...plot.points.flatMap((p) => [p.value - p.expanded, p.value + p.expanded]),
    ...limits.flatMap((l) => [plot.centre - l, plot.centre + l]),
  ])
  const { x, y, svg } = axes(FRAME, span(at, 0.06), ys, { x: 'Year', y: plot.unit }, theme, { x: 5, y: 5 })
  const level = (value: number, words: string, dash: string, stroke: string) =>
    `<line x1="${FRAME.left}" x2="${FRAME.width - FRAME.right}" y1="${y(value).toFixed(2)}" y2="${y(value).toFixed(2)}" stroke="${stroke}" stroke-width="0.9" stroke-dasharray="${dash || 'none'}"/>` +
    text(FRAME.width - FRAME.right + 4, y(value) + 3, words, theme, { size: 8, soft: true })
  const lines = [
    level(plot.centre, 'mean', '', theme.soft),
    ...[-1, 1].flatMap((sign) =>
      plot.limits
        ? [
            level(plot.centre + sign * plot.limits.warning, 'warning', '4 3', theme.soft),
            level(plot.centre + sign * plot.limits.action, 'action', '1 2', theme.ink),
          ]
        : [],
    ),
  ]
  const placed = zip(plot.points, at)
  const stems = placed.map(([p, year]) => {
    const cx = x(year).toFixed(2)
    return (
      `<line x1="${cx}" x2="${cx}" y1="${y(p.value - p.expanded).toFixed(2)}" y2="${y(p.value + p.expanded).toFixed(2)}" stroke="${theme.accent}"/>` +
      `<circle cx="${cx}" cy="${y(p.value).toFixed(2)}" r="3" fill="${theme.accent}"/>`
    )
  })
  const curve = path(placed.map(([p, year]): [number, number] => [x(year), y(p.value)]))
  return svgOf(
    FRAME,
    plot.title,
    svg +
      lines.join('') +
      `<path d="${curve}" fill="none" stroke="${theme.accent}" stroke-width="0.8"/>` +
      stems.join(''),
    theme,
  )
}
