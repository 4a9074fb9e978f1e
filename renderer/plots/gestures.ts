import type uPlot from 'uplot'
import type { PaneHooks } from './hooks.ts'

/** Wheel zooms about the pointer, a drag moves through time, a drag with Shift selects a stretch. Returns what undoes it. */
export function attachGestures(plot: uPlot, hooks: PaneHooks): () => void {
  const over = plot.over
  let drag: { x: number; from: number; to: number; select: boolean } | undefined
  const timeAt = (clientX: number) => plot.posToVal(clientX - over.getBoundingClientRect().left, 'x')

  const wheel = (event: WheelEvent) => {
    event.preventDefault()
    const { min, max } = plot.scales.x!
    if (min == null || max == null) return
    const at = timeAt(event.clientX)
    const factor = event.deltaY < 0 ? 0.8 : 1.25
    hooks.onZoom({ from: at - (at - min) * factor, to: at + (max - at) * factor })
  }
  const down = (event: PointerEvent) => {
    if (event.button !== 0) return
    const { min, max } = plot.scales.x!
    if (min == null || max == null) return
    drag = { x: event.clientX, from: min, to: max, select: event.shiftKey }
    over.setPointerCapture(event.pointerId)
  }
  const move = (event: PointerEvent) => {
    if (!drag) return
    if (drag.select) {
      const a = timeAt(drag.x)
      const b = timeAt(event.clientX)
      hooks.onSelect({ from: Math.min(a, b), to: Math.max(a, b) })
      return
    }
    if (Math.abs(event.clientX - drag.x) < 3) return
    const perPixel = (drag.to - drag.from) / over.clientWidth
    const shift = (drag.x - event.clientX) * perPixel
    hooks.onZoom({ from: drag.from + shift, to: drag.to + shift })
  }
  const up = () => {
    drag = undefined
  }
  over.addEventListener('wheel', wheel, { passive: false })
  over.addEventListener('pointerdown', down)
  over.addEventListener('pointermove', move)
  over.addEventListener('pointerup', up)
  over.addEventListener('pointercancel', up)
  return () => {
    over.removeEventListener('wheel', wheel)
    over.removeEventListener('pointerdown', down)
    over.removeEventListener('pointermove', move)
    over.removeEventListener('pointerup', up)
    over.removeEventListener('pointercancel', up)
  }
}
