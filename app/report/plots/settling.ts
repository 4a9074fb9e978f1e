import { at } from '../../base/lists.ts'
import { axes, type Frame, type PlotData, path, shortened, svgOf, type Theme, text } from './plot.ts'

type Settling = Extract<PlotData, { type: 'settling' }>
const ACROSS = 3
const WIDTH = 520
const PANEL_HEIGHT = 112

/** One small panel for each point: how still the reference stood before and while the point was taken. */
export function drawSettling(plot: Settling, theme: Theme): string {
  const rows = Math.ceil(plot.panels.length / ACROSS)
  const width = WIDTH / ACROSS
  const limit = Math.max(1, ...plot.panels.flatMap((p) => p.mk.filter(Number.isFinite).map(Math.abs)))
  const bodies = plot.panels.map((panel, i) => {
    const frame: Frame = { width, height: PANEL_HEIGHT, left: 38, right: 4, top: 16, bottom: 30 }
    const first = Math.min(0, ...panel.minutes)
    const { x, y, svg } = axes(
      frame,
      [first, Math.max(panel.endMinutes, first + 1)],
      [-limit, limit],
      { x: 'min', y: 'mK' },
      theme,
      { x: 4, y: 4 },
    )
    const [from, to] = [x(0), x(panel.endMinutes)]
    const shade = `<rect x="${from.toFixed(2)}" y="${frame.top}" width="${(to - from).toFixed(2)}" height="${PANEL_HEIGHT - frame.top - frame.bottom}" fill="${theme.band}"/>`
    const curve = path(panel.minutes.map((m, k): [number, number] => [x(m), y(at(panel.mk, k))]))
    const across = (i % ACROSS) * width
    const down = Math.floor(i / ACROSS) * PANEL_HEIGHT
    return (
      `<g transform="translate(${across.toFixed(2)} ${down})">${shade}${svg}` +
      `<path d="${curve}" fill="none" stroke="${theme.accent}" stroke-width="1"/>` +
      `${text(frame.left, 11, shortened(panel.label, 28), theme, { size: 8.5, bold: true })}</g>`
    )
  })
  return svgOf({ width: WIDTH, height: rows * PANEL_HEIGHT }, plot.title, bodies.join(''), theme)
}
