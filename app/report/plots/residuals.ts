import { axes, type Frame, type PlotData, path, span, svgOf, type Theme } from './plot.ts'

type Residuals = Extract<PlotData, { type: 'residuals' }>
const FRAME: Frame = { width: 520, height: 200, left: 48, right: 12, top: 10, bottom: 34 }

/** Residuals over temperature with each point's expanded uncertainty, inside the band of the fitted curve. */
export function drawResiduals(plot: Residuals, theme: Theme): string {
  const xs = span([...plot.points.map((p) => p.celsius), ...plot.band.map((b) => b.celsius)], 0.03)
  const ys = span([
    0,
    ...plot.points.flatMap((p) => [p.residualMk - p.expandedMk, p.residualMk + p.expandedMk]),
    ...plot.band.flatMap((b) => [-b.expandedMk, b.expandedMk]),
  ])
  const { x, y, svg } = axes(FRAME, xs, ys, { x: 'Temperature t90, °C', y: 'Fit less reference, mK' }, theme)
  const upper = plot.band.map((b): [number, number] => [x(b.celsius), y(b.expandedMk)])
  const lower = plot.band.map((b): [number, number] => [x(b.celsius), y(-b.expandedMk)])
  const area = `${path(upper)}L${path(lower.toReversed()).slice(1)}Z`
  const marks = plot.points.map((p) => {
    const [cx, top, bottom] = [x(p.celsius), y(p.residualMk + p.expandedMk), y(p.residualMk - p.expandedMk)]
    const stem = `<line x1="${cx.toFixed(2)}" x2="${cx.toFixed(2)}" y1="${top.toFixed(2)}" y2="${bottom.toFixed(2)}" stroke="${theme.accent}" stroke-width="1"/>`
    const fill = p.included ? theme.accent : theme.ground
    return `${stem}<circle cx="${cx.toFixed(2)}" cy="${y(p.residualMk).toFixed(2)}" r="3.2" fill="${fill}" stroke="${theme.accent}" stroke-width="1.2"/>`
  })
  const zero = y(0).toFixed(2)
  const body =
    (plot.band.length > 1 ? `<path d="${area}" fill="${theme.band}" stroke="none"/>` : '') +
    svg +
    `<line x1="${FRAME.left}" x2="${FRAME.width - FRAME.right}" y1="${zero}" y2="${zero}" stroke="${theme.ink}" stroke-width="0.8"/>` +
    marks.join('')
  return svgOf(FRAME, plot.title, body, theme)
}
