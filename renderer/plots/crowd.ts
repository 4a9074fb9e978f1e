import type { Bars } from '../live/buckets.ts'

export interface CrowdLine {
  bars: Bars
  /** '#rrggbb' */
  colour: string
  /** Values at the lower and upper edge. */
  min: number
  max: number
}

export interface CrowdBox {
  left: number
  top: number
  width: number
  height: number
}

/**
 * Paints many lines as upright bars, one a bucket, into a picture of its own, which then goes to the plot in one piece.
 * Handing 96 lines to a software canvas as strokes or rectangles takes it longer than there is time between two frames.
 */
export class CrowdInk {
  #picture = new ImageData(1, 1)
  #pixels = new Uint32Array(this.#picture.data.buffer)
  #canvas = new OffscreenCanvas(1, 1)

  /** `at` is where the first bucket begins and `wide` how wide each is, in pixels from the box's left edge. */
  paint(
    ctx: CanvasRenderingContext2D,
    box: CrowdBox,
    lines: readonly CrowdLine[],
    at: number,
    wide: number,
    thick: number,
  ): void {
    const width = Math.max(1, Math.round(box.width))
    const height = Math.max(1, Math.round(box.height))
    if (this.#picture.width !== width || this.#picture.height !== height) {
      this.#picture = new ImageData(width, height)
      this.#pixels = new Uint32Array(this.#picture.data.buffer)
      this.#canvas = new OffscreenCanvas(width, height)
    } else this.#pixels.fill(0)
    for (const line of lines) drawLine({ pixels: this.#pixels, width, height }, line, at, wide, thick)
    this.#canvas.getContext('2d')!.putImageData(this.#picture, 0, 0)
    ctx.drawImage(this.#canvas, Math.round(box.left), Math.round(box.top))
  }
}

/** A line leaves each bucket at its last extreme, level until the next bucket that holds something. */
export function drawLine(
  { pixels, width, height }: { pixels: Uint32Array; width: number; height: number },
  { bars, colour, min, max }: CrowdLine,
  at: number,
  wide: number,
  thick: number,
): void {
  const ink = packed(colour)
  const perUnit = height / (max - min || 1)
  const row = (value: number) => Math.round(height - (value - min) * perUnit)
  const fill = (x0: number, x1: number, y0: number, y1: number) => {
    const left = Math.max(0, x0)
    const right = Math.min(width, x1)
    const bottom = Math.min(height, y1)
    // A loop of our own: calling fill for every row of a bar two pixels wide takes ten times as long.
    for (let y = Math.max(0, y0); y < bottom; y++) {
      const end = y * width + right
      for (let p = y * width + left; p < end; p++) pixels[p] = ink
    }
  }
  let left = 0
  let before = Number.NaN
  for (let i = 0; i < bars.low.length; i++) {
    if (Number.isNaN(bars.low[i]!)) continue
    const x = Math.round(at + i * wide)
    const right = Math.max(x + 1, Math.round(at + (i + 1) * wide))
    const joined = !Number.isNaN(before) && bars.gap[i] === 0
    if (joined && x > left) fill(left, x, row(before), row(before) + thick)
    const low = joined ? Math.min(before, bars.low[i]!) : bars.low[i]!
    const high = joined ? Math.max(before, bars.high[i]!) : bars.high[i]!
    if (right > 0 && x < width) fill(x, right, row(high), row(low) + thick)
    before = bars.last[i]!
    left = right
  }
}

/** As a pixel lies in memory on every machine this runs on: red first. */
function packed(colour: string): number {
  const [r, g, b] = [1, 3, 5].map((k) => Number.parseInt(colour.slice(k, k + 2), 16)) as [
    number,
    number,
    number,
  ]
  return (255 << 24) | (b << 16) | (g << 8) | r
}
