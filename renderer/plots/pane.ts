import uPlot from 'uplot'
import type { LiveBoard } from '../live/board.ts'
import { type Bars, BucketLane, bucketWidth, type Plotted } from '../live/buckets.ts'
import { shownInRing, shownSince } from '../live/shown.ts'
import { CrowdInk } from './crowd.ts'
import { attachGestures } from './gestures.ts'
import type { PaneHooks, TimeWindow } from './hooks.ts'
import { timeLabels, valueLabels } from './labels.ts'
import { drawFew, drawHeld, drawMarkers } from './overlays.ts'
import { cssColour, isDark, seriesLook } from './palette.ts'
import type { PaneSpec, PastLane } from './spec.ts'

/** Pixels a bucket is wide, and the bounds of how many there are. */
const BUCKET_PX = 2
const FEWEST_BUCKETS = 200
const MOST_BUCKETS = 1000
/** Lines that still carry markers; more would hide one another. */
const MOST_MARKED = 16
/** Lines that have an axis of their own drawn; with more, the axes would leave no room for the picture. */
export const MOST_OWN_AXES = 3

/** One live plot: lanes of buckets fed from the board, painted by uPlot. Owns no state that React would need. */
export class PlotPane {
  readonly #board: LiveBoard
  readonly #hooks: PaneHooks
  readonly #host: HTMLElement
  readonly #spec: PaneSpec
  #plot: uPlot | undefined
  #lanes: BucketLane[] = []
  #xs: number[] = []
  #ys: Plotted[] = []
  /** In place of #ys where the lines are a crowd. */
  #bars: Bars[] = []
  readonly #ink = new CrowdInk()
  /** How many buckets the plot's width is worth. */
  #count = FEWEST_BUCKETS
  #first = Number.NaN
  #width = Number.NaN
  #span = Number.NaN
  #generation = -1
  #past = new Map<string, PastLane>()
  #selected: TimeWindow | null = null
  #cursors: readonly number[] = []
  #detach: (() => void) | undefined

  constructor(host: HTMLElement, board: LiveBoard, spec: PaneSpec, hooks: PaneHooks) {
    this.#host = host
    this.#board = board
    this.#spec = spec
    this.#hooks = hooks
    this.#build()
  }

  dispose(): void {
    this.#detach?.()
    this.#plot?.destroy()
    this.#plot = undefined
  }

  setPast(past: Map<string, PastLane>): void {
    this.#past = past
    this.#first = Number.NaN
  }

  setSelected(window: TimeWindow | null, cursors: readonly number[]): void {
    this.#selected = window
    this.#cursors = cursors
    this.#plot?.redraw(false)
  }

  resize(): void {
    const { width, height } = this.#size()
    if (bucketsFor(width) !== this.#count) this.#build()
    else if (this.#plot && (this.#plot.width !== width || this.#plot.height !== height))
      this.#plot.setSize({ width, height })
  }

  #size(): { width: number; height: number } {
    return { width: Math.max(80, this.#host.clientWidth), height: Math.max(80, this.#host.clientHeight) }
  }

  /** Brings the lanes to `window` and paints. */
  paint(window: TimeWindow): void {
    if (!this.#plot || !Number.isFinite(window.from) || !Number.isFinite(window.to)) return
    const span = window.to - window.from
    const width = bucketWidth(span, this.#count - 2)
    const first = Math.floor(window.to / width) - this.#count + 1
    const anew =
      this.#generation !== this.#board.generation ||
      width !== this.#width ||
      !(first >= this.#first) ||
      span !== this.#span
    if (anew) this.#fill(first, width)
    else if (first !== this.#first) for (const lane of this.#lanes) lane.slideTo(first)
    this.#first = first
    this.#width = width
    this.#span = span
    this.#generation = this.#board.generation
    const { base, lines } = this.#spec
    // A reading later than the base's newest waits for the base: its difference is taken between two of the base's.
    const until = base === null ? undefined : this.#board.rings.get(base)?.newestTime
    for (const [i, line] of lines.entries()) {
      const ring = this.#board.rings.get(line.channel)
      if (ring) {
        const value = shownInRing(this.#board, ring, line.channel, this.#spec, this.#hooks.setpointAt)
        this.#lanes[i]!.follow(ring, width, value, until)
      }
      if (this.#crowded) this.#lanes[i]!.writeBars(this.#bars[i]!)
      else this.#lanes[i]!.writeTo(this.#ys[i]!)
    }
    if (this.#crowded) {
      this.#paintCrowd(window)
      return
    }
    for (let b = 0; b < this.#count; b++) {
      this.#xs[b * 2] = (first + b + 0.25) * width
      this.#xs[b * 2 + 1] = (first + b + 0.75) * width
    }
    const plot = this.#plot
    plot.batch(() => {
      plot.setData([this.#xs, ...this.#ys] as uPlot.AlignedData, false)
      plot.setScale('x', { min: window.from, max: window.to })
    })
  }

  /** Before the first painting the axis stands at no moment of any session. */
  get #hasMoments(): boolean {
    return Number.isFinite(this.#span)
  }

  get #crowded(): boolean {
    return this.#spec.lines.length > MOST_MARKED
  }

  /** uPlot draws the axes alone; what it would do with the numbers costs more than the rest together. */
  #paintCrowd(window: TimeWindow): void {
    const plot = this.#plot!
    const [low, high] = extremesOf(this.#bars)
    const [min, max] = low <= high ? uPlot.rangeNum(low, high, 0.1, true) : [0, 1]
    plot.batch(() => {
      plot.setData([[window.from, window.to]], false)
      plot.setScale('x', { min: window.from, max: window.to })
      plot.setScale('y', { min: min ?? 0, max: max ?? 1 })
    })
  }

  #fill(first: number, width: number): void {
    for (const [i, line] of this.#spec.lines.entries()) {
      const lane = this.#lanes[i]!
      const ring = this.#board.rings.get(line.channel)
      lane.clear(first)
      const past = this.#past.get(line.channel)
      const since = shownSince(this.#board, line.channel, this.#spec)
      if (past) {
        for (let k = 0; k < past.t.length; k++) {
          const t = past.t[k]!
          if (t >= since) break
          lane.addExtremes(t, past.min[k]!, past.max[k]!, width)
        }
      }
      lane.seen = ring ? ring.total - Math.max(0, ring.length - ring.from(first * width)) : 0
    }
  }

  #build(): void {
    this.#detach?.()
    this.#plot?.destroy()
    const { lines, axis } = this.#spec
    this.#count = bucketsFor(this.#size().width)
    this.#lanes = lines.map(() => new BucketLane(this.#count))
    const crowded = this.#crowded
    this.#xs = Array.from({ length: crowded ? 0 : this.#count * 2 }, () => 0)
    this.#ys = crowded ? [] : lines.map(() => Array.from({ length: this.#count * 2 }, () => undefined))
    this.#bars = crowded ? lines.map(() => emptyBars(this.#count)) : []
    this.#first = Number.NaN
    this.#span = Number.NaN
    const dark = isDark()
    const ink = cssColour('--ink-2')
    const faint = cssColour('--line')
    // A canvas knows no rem: on a large screen its letters and lines grow with the page's.
    const rem = Number.parseFloat(getComputedStyle(document.documentElement).fontSize)
    const font = `${rem * 0.86}px "Inter Variable", sans-serif`
    const own = axis === 'own' && lines.length > 1
    const gridAxis = {
      stroke: ink,
      font,
      grid: { stroke: faint, width: 1 },
      ticks: { stroke: faint, width: 1, size: 4 },
    }
    const options: uPlot.Options = {
      ...this.#size(),
      padding: [8, 12, 0, 0],
      legend: { show: false },
      pxAlign: 0,
      ms: 1e-3,
      cursor: {
        drag: { x: false, y: false },
        sync: { key: 'watch' },
        points: { show: lines.length <= 12, size: 6 },
      },
      scales: { x: { time: true }, ...(crowded ? { y: { auto: false, range: givenRange } } : {}) },
      axes: [
        {
          ...gridAxis,
          space: rem * 6,
          size: rem * 2.6,
          values: (_, splits) => timeLabels(splits, this.#hasMoments),
        },
        ...(own && lines.length <= MOST_OWN_AXES ? lines : [undefined]).map((line, i): uPlot.Axis => {
          const plain = {
            size: rem * 5.6,
            space: rem * 3.2,
            values: (_: uPlot, splits: number[]) => valueLabels(splits),
          }
          if (!line) return { ...gridAxis, ...plain, show: !own }
          // Each axis in the colour of its line; only the first one rules the picture.
          const stroke = seriesLook(line.look, dark).colour
          return { ...gridAxis, ...plain, stroke, scale: `y${i}`, grid: { ...gridAxis.grid, show: i === 0 } }
        }),
      ],
      series: [
        {},
        ...(crowded ? [] : lines).map((line, i): uPlot.Series => {
          const look = seriesLook(line.look, dark)
          return {
            label: line.name,
            scale: own ? `y${i}` : 'y',
            stroke: look.colour,
            width: (look.width * rem) / 14,
            dash: [...look.dash],
            spanGaps: false,
            points: { show: false },
          }
        }),
      ],
      hooks: {
        draw: [
          (plot) => this.#drawCrowd(plot),
          (plot) => {
            if (crowded) return
            drawFew(plot, lines)
            drawMarkers(plot, lines, MOST_MARKED)
          },
          (plot) => drawHeld(plot, this.#selected, this.#cursors),
        ],
        setCursor: [
          (plot) => {
            const left = plot.cursor.left ?? -1
            this.#hooks.onCursor(left >= 0 ? plot.posToVal(left, 'x') : null)
          },
        ],
      },
    }
    this.#plot = new uPlot(options, [this.#xs, ...this.#ys] as uPlot.AlignedData, this.#host)
    this.#detach = attachGestures(this.#plot, this.#hooks)
  }

  #drawCrowd(plot: uPlot): void {
    if (!this.#crowded) return
    const { lines, axis } = this.#spec
    const { min: from, max: to } = plot.scales.x!
    const { min, max } = plot.scales.y!
    if (from == null || to == null || min == null || max == null || Number.isNaN(this.#first)) return
    const dark = isDark()
    const perSecond = plot.bbox.width / (to - from)
    const drawn = lines.map((line, i) => {
      const bars = this.#bars[i]!
      const colour = seriesLook(line.look, dark).colour
      if (axis === 'shared') return { bars, colour, min, max }
      const [low, high] = extremesOf([bars])
      const margin = (high - low) * 0.1 || 1
      return { bars, colour, min: low - margin, max: high + margin }
    })
    const at = (this.#first * this.#width - from) * perSecond
    const thick = Math.max(1, Math.round(devicePixelRatio))
    this.#ink.paint(plot.ctx, plot.bbox, drawn, at, this.#width * perSecond, thick)
  }
}

const emptyBars = (count: number): Bars => ({
  low: new Float64Array(count).fill(Number.NaN),
  high: new Float64Array(count),
  last: new Float64Array(count),
  gap: new Uint8Array(count),
})

/** The range that was set; uPlot, which sees no numbers of a crowd, would find none. */
const givenRange = (_plot: uPlot, min: number | null, max: number | null): uPlot.Range.MinMax => [
  min ?? 0,
  max ?? 1,
]

/** Least and greatest of all bars; the least above the greatest where there are none. */
function extremesOf(all: readonly Bars[]): [number, number] {
  let least = Number.POSITIVE_INFINITY
  let greatest = Number.NEGATIVE_INFINITY
  for (const { low, high } of all)
    for (let i = 0; i < low.length; i++) {
      if (low[i]! < least) least = low[i]!
      if (high[i]! > greatest && !Number.isNaN(low[i]!)) greatest = high[i]!
    }
  return [least, greatest]
}

/** In steps, so that a pixel more or less builds nothing anew. */
function bucketsFor(width: number): number {
  const wanted = Math.ceil(width / BUCKET_PX / 100) * 100
  return Math.min(MOST_BUCKETS, Math.max(FEWEST_BUCKETS, wanted))
}
