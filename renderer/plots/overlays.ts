import type uPlot from 'uplot'
import type { TimeWindow } from './hooks.ts'
import { cssColour, isDark, MARKER_PATHS, seriesLook } from './palette.ts'
import type { PaneLine } from './spec.ts'

/** What is drawn over the lines of a plot. */

const MARKER_EVERY_PX = 190
const MARKER_PX = 4.5
/** Readings in view up to which each has a dot. */
const FEW = 40

/** A dot for each reading where there are few: one alone makes no line, and a slow scan is seen for what it is. */
export function drawFew(plot: uPlot, lines: readonly PaneLine[]): void {
  const { ctx, bbox } = plot
  ctx.save()
  ctx.beginPath()
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height)
  ctx.clip()
  const dark = isDark()
  const radius = 2.2 * devicePixelRatio
  for (const [i, line] of lines.entries()) {
    const values = plot.data[i + 1]!
    const known: number[] = []
    for (let k = 0; k < values.length && known.length <= FEW; k++) if (values[k] != null) known.push(k)
    if (known.length > FEW) continue
    ctx.fillStyle = seriesLook(line.look, dark).colour
    for (const k of known) {
      const x = plot.valToPos(plot.data[0][k]!, 'x', true)
      const y = plot.valToPos(values[k]!, plot.series[i + 1]!.scale!, true)
      ctx.beginPath()
      ctx.arc(x, y, radius, 0, 2 * Math.PI)
      ctx.fill()
    }
  }
  ctx.restore()
}

/** A few markers along each line, staggered, so that lines can be told apart without their colours. */
export function drawMarkers(plot: uPlot, lines: readonly PaneLine[], most: number): void {
  if (lines.length < 2) return
  const { ctx, bbox } = plot
  const dark = isDark()
  const ratio = devicePixelRatio
  const count = Math.max(1, Math.floor(bbox.width / (MARKER_EVERY_PX * ratio)))
  ctx.save()
  ctx.lineWidth = ratio
  ctx.strokeStyle = cssColour('--ground')
  for (const [i, line] of lines.entries()) {
    const look = seriesLook(line.look, dark)
    const path = new Path2D(MARKER_PATHS[look.marker])
    const values = plot.data[i + 1]!
    ctx.fillStyle = look.colour
    for (let k = 0; k < count; k++) {
      const want = (k + 0.25 + (i % most) / (most * 1.4)) / count
      const at = plot.posToIdx((want * bbox.width) / ratio)
      const index = values[at] == null ? at - 1 : at
      const value = values[index]
      if (value == null) continue
      const shape = new Path2D()
      const size = MARKER_PX * ratio
      const x = plot.valToPos(plot.data[0][index]!, 'x', true)
      const y = plot.valToPos(value, plot.series[i + 1]!.scale!, true)
      shape.addPath(path, new DOMMatrix([size, 0, 0, size, x, y]))
      ctx.fill(shape)
      ctx.stroke(shape)
    }
  }
  ctx.restore()
}

/** The stretch that is selected, and the cursors. */
export function drawHeld(plot: uPlot, selected: TimeWindow | null, cursors: readonly number[]): void {
  const { ctx, bbox } = plot
  ctx.save()
  if (selected) {
    const a = plot.valToPos(selected.from, 'x', true)
    const b = plot.valToPos(selected.to, 'x', true)
    ctx.globalAlpha = 0.14
    ctx.fillStyle = cssColour('--accent')
    ctx.fillRect(
      Math.max(bbox.left, a),
      bbox.top,
      Math.min(b, bbox.left + bbox.width) - Math.max(bbox.left, a),
      bbox.height,
    )
    ctx.globalAlpha = 1
  }
  ctx.strokeStyle = cssColour('--accent')
  ctx.lineWidth = devicePixelRatio
  for (const time of cursors) {
    const x = plot.valToPos(time, 'x', true)
    if (x < bbox.left || x > bbox.left + bbox.width) continue
    ctx.beginPath()
    ctx.moveTo(x, bbox.top)
    ctx.lineTo(x, bbox.top + bbox.height)
    ctx.stroke()
  }
  ctx.restore()
}
