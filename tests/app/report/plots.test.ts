import { describe, expect, it } from 'vitest'
import { drawPlot } from '../../../app/report/plots/draw.ts'
import {
  PAGE_THEME,
  type PlotData,
  PRINT_THEME,
  path,
  shortened,
  span,
  text,
  tickLabel,
} from '../../../app/report/plots/plot.ts'

/** What a reader would take from a drawing with a ruler: the scale by the labels of the axes, then where the marks stand. */

type Attributes = Readonly<Record<string, string>>

const tags = (svg: string, name: string): { of: Attributes; text: string }[] =>
  [...svg.matchAll(new RegExp(`<${name}((?: [a-z0-9-]+="[^"]*")*)(?:/>|>([^<]*)<)`, 'g'))].map(
    ([, attributes, own]) => ({
      of: Object.fromEntries(
        [...attributes!.matchAll(/([a-z0-9-]+)="([^"]*)"/g)].map(([, key, value]) => [key, value!]),
      ),
      text: own ?? '',
    }),
  )

const numberOf = (label: string) => Number(label.replace('−', '-').replace(',', '.'))
const sizeOf = (svg: string) => {
  const [, width, height] = /viewBox="0 0 ([\d.]+) ([\d.]+)"/.exec(svg)!.map(Number)
  return { width: width!, height: height! }
}

/** A scale by the labels of an axis: place on the paper for a value. */
function scaleOf(labels: readonly { at: number; value: number }[]): (value: number) => number {
  const [a, b] = [labels[0]!, labels.at(-1)!]
  const per = (b.at - a.at) / (b.value - a.value)
  const scale = (value: number) => a.at + (value - a.value) * per
  // All labels of one axis lie on one scale.
  for (const { at, value } of labels) expect(Math.abs(scale(value) - at)).toBeLessThan(0.02)
  expect(labels.length).toBeGreaterThan(2)
  return scale
}

function axesOf(svg: string) {
  const all = tags(svg, 'text').filter(({ text }) => /^−?[\d.,]+$/.test(text))
  const y = all.filter(({ of }) => of['text-anchor'] === 'end')
  const x = all.filter(({ of }) => of['text-anchor'] === 'middle' && !of.transform)
  const grid = tags(svg, 'line').filter(({ of }) => of.stroke === PRINT_THEME.grid && of.y1 === of.y2)
  // A label stands at its line, within the height of a letter, just left of it.
  y.forEach(({ of }, i) => {
    expect(Number(of.y) - Number(grid[i]!.of.y1)).toBeCloseTo(3, 1)
    expect(Number(of.x)).toBeLessThan(Number(grid[i]!.of.x1))
  })
  return {
    x: scaleOf(x.map(({ of, text }) => ({ at: Number(of.x), value: numberOf(text) }))),
    y: scaleOf(y.map(({ of, text }) => ({ at: Number(of.y) - 3, value: numberOf(text) }))),
  }
}

/** The paper between the axes, and that everything drawn to scale stands in it; words of the axes are soft, and in the middle. */
function withinAxes(svg: string) {
  const lines = tags(svg, 'line').map(({ of }) => of)
  const grid = lines.filter((of) => of.stroke === PRINT_THEME.grid).map(({ y1 }) => Number(y1))
  const [top, bottom] = [Math.min(...grid), Math.max(...grid)]
  const base = lines.find((of) => of.stroke === PRINT_THEME.soft && of.y1 === of.y2)!
  const [left, right] = [Number(base.x1), Number(base.x2)]
  expect(Number(base.y1)).toBeCloseTo(bottom, 1)
  const isIn = (px: number, py: number) => {
    expect(px).toBeGreaterThanOrEqual(left - 0.01)
    expect(px).toBeLessThanOrEqual(right + 0.01)
    expect(py).toBeGreaterThanOrEqual(top - 0.01)
    expect(py).toBeLessThanOrEqual(bottom + 0.01)
  }
  for (const { of } of tags(svg, 'circle')) isIn(Number(of.cx), Number(of.cy))
  for (const { of } of tags(svg, 'path')) for (const [px, py] of cornersOf(of.d!)) isIn(px!, py!)
  for (const of of lines.filter(
    (line) => line.stroke === PRINT_THEME.accent || line.stroke === PRINT_THEME.ink,
  ))
    if (Number(of.x1) <= right) for (const py of [of.y1, of.y2]) isIn(Number(of.x1), Number(py))
  const words = tags(svg, 'text').filter(({ of }) => of['text-anchor'] === 'middle')
  const labels = words.filter(({ text: own }) => /^−?[\d.]+$/.test(own))
  for (const { of } of labels) {
    expect(Number(of.y)).toBeGreaterThan(bottom + 9)
    expect(of.fill).toBe(PRINT_THEME.soft)
  }
  for (const { of, text: own } of tags(svg, 'text'))
    if (of['text-anchor'] === 'end' && /^−?[\d.]+$/.test(own)) expect(of.fill).toBe(PRINT_THEME.soft)
  const [across, up] = words.filter(({ text: own }) => !/^−?[\d.]+$/.test(own))
  expect(Number(across!.of.x)).toBeCloseTo((left + right) / 2, 1)
  expect(Number(across!.of.y) - Number(labels[0]!.of.y)).toBeGreaterThan(9)
  expect(Number(up!.of.y)).toBeCloseTo((top + bottom) / 2, 1)
  return { left, right, top, bottom }
}

/** Corners of a path of straight lines. */
const cornersOf = (d: string) =>
  [...d.matchAll(/[ML]([-\d.]+),([-\d.]+)/g)].map(([, x, y]) => [Number(x), Number(y)])

const near = (found: readonly (number | undefined)[], expected: readonly number[]) => {
  expect(found).toHaveLength(expected.length)
  expected.forEach((place, i) => {
    expect(Math.abs(found[i]! - place), `place ${i}`).toBeLessThan(0.03)
  })
}

/** Nothing is written or drawn beyond the edge of the paper. */
function insideOf(svg: string) {
  const { width, height } = sizeOf(svg)
  for (const { of, text } of tags(svg, 'text')) {
    const [x, y, size] = [Number(of.x), Number(of.y), Number(of['font-size'])]
    expect(size).toBeGreaterThanOrEqual(8)
    expect(size).toBeLessThanOrEqual(9)
    // A letter is about half as wide as it is high (Roboto, from memory).
    const long = text.length * size * 0.5
    const [from, to] = of.transform
      ? [x, x]
      : { start: [x, x + long], middle: [x - long / 2, x + long / 2], end: [x - long, x] }[
          of['text-anchor'] as 'end'
        ]
    expect(from, text).toBeGreaterThanOrEqual(0)
    expect(to, text).toBeLessThanOrEqual(width)
    expect(y).toBeGreaterThanOrEqual(size - 2)
    expect(y).toBeLessThanOrEqual(height - 1)
  }
}

const RESIDUALS: PlotData = {
  type: 'residuals',
  title: 'Residuals of Q-25 & others',
  points: [
    { celsius: 0, residualMk: 1.5, expandedMk: 3, included: true },
    { celsius: 60, residualMk: -2.25, expandedMk: 4, included: false },
    { celsius: 100, residualMk: 0.5, expandedMk: 5, included: true },
  ],
  band: [
    { celsius: 0, expandedMk: 2 },
    { celsius: 100, expandedMk: 6 },
  ],
}

describe('the plot of residuals', () => {
  const svg = drawPlot(RESIDUALS)
  const { x, y } = axesOf(svg)
  const points = RESIDUALS.points

  it('has every point where its temperature and residual are, with U above and below', () => {
    const circles = tags(svg, 'circle').map(({ of }) => of)
    near(
      circles.map(({ cx }) => Number(cx)),
      points.map((p) => x(p.celsius)),
    )
    near(
      circles.map(({ cy }) => Number(cy)),
      points.map((p) => y(p.residualMk)),
    )
    const stems = tags(svg, 'line')
      .filter(({ of }) => of.stroke === PRINT_THEME.accent)
      .map(({ of }) => of)
    near(
      stems.map(({ y1 }) => Number(y1)),
      points.map((p) => y(p.residualMk + p.expandedMk)),
    )
    near(
      stems.map(({ y2 }) => Number(y2)),
      points.map((p) => y(p.residualMk - p.expandedMk)),
    )
    near(
      stems.map(({ x1 }) => Number(x1)),
      points.map((p) => x(p.celsius)),
    )
    // A point left out is hollow.
    expect(circles.map(({ fill }) => fill)).toEqual([
      PRINT_THEME.accent,
      PRINT_THEME.ground,
      PRINT_THEME.accent,
    ])
  })

  it('has the band of the curve on both sides of zero, and a line at zero', () => {
    const band = tags(svg, 'path').find(({ of }) => of.fill === PRINT_THEME.band)!
    const corners = cornersOf(band.of.d!)
    near(
      corners.map(([px]) => px),
      [x(0), x(100), x(100), x(0)],
    )
    near(
      corners.map(([, py]) => py),
      [y(2), y(6), y(-6), y(-2)],
    )
    const zero = tags(svg, 'line').find(({ of }) => of.stroke === PRINT_THEME.ink)!
    near([Number(zero.of.y1), Number(zero.of.y2)], [y(0), y(0)])
    expect(drawPlot({ ...RESIDUALS, band: RESIDUALS.band.slice(0, 1) })).not.toContain(
      `fill="${PRINT_THEME.band}"`,
    )
  })

  it('names its axes with their units, and itself, and stays on its paper', () => {
    const words = tags(svg, 'text').map(({ text: own }) => own)
    expect(words).toContain('Temperature t90, °C')
    expect(words).toContain('Fit less reference, mK')
    withinAxes(svg)
    // The band alone, the points alone, and points that all lie on one side.
    const far = RESIDUALS.points.map((p) => ({ ...p, residualMk: p.residualMk + 40, expandedMk: 1 }))
    withinAxes(drawPlot({ ...RESIDUALS, points: far }))
    withinAxes(drawPlot({ ...RESIDUALS, points: far.map((p) => ({ ...p, residualMk: -p.residualMk })) }))
    withinAxes(drawPlot({ ...RESIDUALS, band: [-30, 130].map((celsius) => ({ celsius, expandedMk: 70 })) }))
    withinAxes(
      drawPlot({ ...RESIDUALS, points: RESIDUALS.points.map((p) => ({ ...p, expandedMk: 90 })), band: [] }),
    )
    expect(svg).toContain('<title>Residuals of Q-25 &#38; others</title>')
    insideOf(svg)
  })
})

describe('the plot of uncertainty', () => {
  const plot: PlotData = {
    type: 'uncertainty',
    title: 'U',
    celsius: [0, 50, 100],
    expandedMk: [4, 6, 10],
    parts: [
      { name: 'Bath, uniformity', uMk: [1, 2, 3] },
      { name: 'Reference, a component whose name is longer than the legend', uMk: [1.5, 1.5, 1.5] },
    ],
  }
  const svg = drawPlot(plot)
  const { x, y } = axesOf(svg)

  it('has U and its largest parts as curves from a scale that begins at zero', () => {
    const curves = tags(svg, 'path').map(({ of }) => of)
    expect(curves).toHaveLength(3)
    near(
      cornersOf(curves[2]!.d!).flat(),
      [0, 50, 100].flatMap((t, i) => [x(t), y(plot.expandedMk[i]!)]),
    )
    plot.parts.forEach((part, k) => {
      near(
        cornersOf(curves[k]!.d!).flat(),
        [0, 50, 100].flatMap((t, i) => [x(t), y(part.uMk[i]!)]),
      )
    })
    const floor = tags(svg, 'line').find(({ of }) => of.stroke === PRINT_THEME.soft && of.y1 === of.y2)!
    expect(Number(floor.of.y1)).toBeCloseTo(y(0), 1)
  })

  it('keeps every curve on its scale, however small', () => {
    withinAxes(svg)
    const small = drawPlot({
      ...plot,
      expandedMk: [0.04, 0.06, 0.1],
      parts: [{ name: 'One', uMk: [0.2, 0.3, 0.19] }],
    })
    const { bottom, top } = withinAxes(small)
    expect(axesOf(small).y(0)).toBeCloseTo(bottom, 1)
    // Most of the height is used: the highest value stands in the upper third.
    expect(axesOf(small).y(0.3)).toBeLessThan(top + (bottom - top) / 3)
  })

  it('tells curves apart by colour and dash, each as in its line of the legend', () => {
    const curves = tags(svg, 'path').map(({ of }) => [
      of.stroke,
      of['stroke-dasharray'] ?? 'none',
      of['stroke-width'],
    ])
    const legend = tags(svg, 'line')
      .filter(({ of }) => of['stroke-dasharray'] !== undefined)
      .map(({ of }) => [of.stroke, of['stroke-dasharray'], of['stroke-width']])
    expect(legend).toEqual(curves)
    expect(new Set(curves.map(String)).size).toBe(3)
    expect(curves[2]![1]).toBe('none')
    expect(curves.slice(0, 2).map(([, dash]) => dash)).not.toContain('none')
    const names = tags(svg, 'text').filter(({ of }) => of['text-anchor'] === 'start')
    expect(names.map(({ text: own }) => own)).toEqual([
      'Bath, uniformity',
      'Reference, a component whose na…',
      'U, expanded',
    ])
    // One below the other, U on top, none over another; right of where the curves end.
    const rows = [names[2]!, names[0]!, names[1]!].map(({ of }) => Number(of.y))
    expect(rows[1]! - rows[0]!).toBe(rows[2]! - rows[1]!)
    expect(rows[1]! - rows[0]!).toBeGreaterThan(12)
    for (const { of } of names) expect(Number(of.x)).toBeGreaterThan(x(100) + 24)
    insideOf(svg)
  })

  it('has as many dashes and colours as it takes, over again', () => {
    const many = drawPlot({
      ...plot,
      parts: Array.from({ length: 8 }, (_, i) => ({ name: `Part ${i}`, uMk: [i, i, i] })),
    })
    const looks = tags(many, 'path').map(({ of }) => `${of.stroke} ${of['stroke-dasharray']}`)
    expect(new Set(looks.slice(0, 6)).size).toBe(6)
    expect(looks[6]).toBe(looks[0])
  })
})

describe('the plot of a budget', () => {
  const lines = [
    { name: 'Bath, uniformity', uMk: 2, kind: 'B' },
    { name: 'Thermometer under test, repeatability', uMk: 0.5, kind: 'A' },
    { name: `Reference, ${'calibration '.repeat(8)}`, uMk: 0.095, kind: 'B' },
    { name: 'Bridge, resolution', uMk: 0.0042, kind: 'B' },
  ] as const
  const svg = drawPlot({ type: 'budget', title: 'Budget', lines })
  const bars = tags(svg, 'rect').map(({ of }) => of)
  const labels = tags(svg, 'text')

  it('has bars in proportion to u, from one edge, one below the other', () => {
    const widths = bars.map(({ width }) => Number(width))
    expect(widths[0]! / widths[1]!).toBeCloseTo(4, 1)
    expect(widths[0]! / widths[2]!).toBeCloseTo(2 / 0.095, 0)
    // The least is still seen.
    expect(widths[3]).toBeGreaterThanOrEqual(0.4)
    expect(new Set(bars.map(({ x }) => x)).size).toBe(1)
    const tops = bars.map(({ y }) => Number(y))
    const high = Number(bars[0]!.height)
    for (const i of [1, 2, 3]) expect(tops[i]! - tops[i - 1]!).toBeGreaterThan(high + 2)
    expect(tops[0]).toBeGreaterThan(0)
    // Type A is outlined.
    expect(bars.map(({ fill }) => fill === PRINT_THEME.accent)).toEqual([true, false, true, true])
  })

  it('writes u beside each bar: two decimals, one digit where that would be 0.09 and less', () => {
    const texts = bars.map(
      ({ x, y, width }) =>
        labels.find(
          ({ of }) =>
            of.y === String(Number(y) + 8.5) && Math.abs(Number(of.x) - Number(x) - Number(width) - 5) < 0.5,
        )?.text,
    )
    expect(texts.slice(0, 3)).toEqual(['2.00', '0.50', '0.10'])
    expect(labels.map(({ text: own }) => own)).toContain('0.004')
  })

  it('has its scale below the bars: the labels are where bars of that length end', () => {
    const from = Number(bars[0]!.x)
    const per = Number(bars[0]!.width) / 2
    const ticks = labels.filter(({ of, text: own }) => of['text-anchor'] === 'middle' && /^[\d.]+$/.test(own))
    expect(ticks.length).toBeGreaterThan(2)
    for (const { of, text: own } of ticks)
      expect(Math.abs(Number(of.x) - from - Number(own) * per)).toBeLessThan(0.05)
    expect(ticks.map(({ text: own }) => own)).toContain('1.0')
    const bottom = Math.max(...bars.map(({ y, height }) => Number(y) + Number(height)))
    const down = Number(ticks[0]!.of.y)
    expect(down).toBeGreaterThan(bottom + 8)
    const caption = labels.find(({ text: own }) => own.startsWith('standard uncertainty, mK'))!
    expect(Number(caption.of.y) - down).toBeGreaterThan(8)
    expect(Number(caption.of.y)).toBeLessThan(sizeOf(svg).height)
    for (const line of tags(svg, 'line')) expect(Number(line.of.y2)).toBeGreaterThanOrEqual(bottom - 1)
    insideOf(
      drawPlot({ type: 'budget', title: 'Budget', lines: lines.filter(({ name }) => name.length < 40) }),
    )
  })

  it('cuts a name that does not fit, and draws a budget of nothing', () => {
    expect(labels.map(({ text: own }) => own)).toContain(shortened(lines[2].name, 66))
    expect(
      drawPlot({ type: 'budget', title: 'Budget', lines: [{ name: 'None', uMk: 0, kind: 'B' }] }),
    ).not.toContain('NaN')
  })
})

describe('the control chart', () => {
  const plot: PlotData = {
    type: 'chart',
    title: 'R(WTP)',
    unit: 'mK',
    points: [
      { date: '2024-01-01', value: 0.2, expanded: 0.1 },
      { date: '2025-01-01', value: -0.3, expanded: 0.2 },
      { date: '2026-01-01', value: 0.1, expanded: 0.1 },
    ],
    centre: 0.05,
    limits: { warning: 0.6, action: 0.9 },
  }
  const svg = drawPlot(plot)
  const { x, y } = axesOf(svg)

  it('has each value at its date, the year and its part, with U', () => {
    const circles = tags(svg, 'circle').map(({ of }) => of)
    near(
      circles.map(({ cy }) => Number(cy)),
      plot.points.map((p) => y(p.value)),
    )
    circles.forEach(({ cx }, i) => {
      // A year is 365.25 days on average: within a day of the first of January.
      expect(Math.abs(Number(cx) - x(2024 + i)) / (x(2025) - x(2024))).toBeLessThan(1 / 365)
    })
    const stems = tags(svg, 'line')
      .filter(({ of }) => of.stroke === PRINT_THEME.accent)
      .map(({ of }) => of)
    near(
      stems.map(({ y1 }) => Number(y1)),
      plot.points.map((p) => y(p.value - p.expanded)),
    )
    near(
      stems.map(({ y2 }) => Number(y2)),
      plot.points.map((p) => y(p.value + p.expanded)),
    )
    const [curve] = tags(svg, 'path')
    near(
      cornersOf(curve!.of.d!).map(([, py]) => py),
      plot.points.map((p) => y(p.value)),
    )
  })

  it('keeps values with U and limits on its scale', () => {
    withinAxes(svg)
    for (const expanded of [3, 0.01])
      for (const value of [0.2, 5, -5])
        withinAxes(drawPlot({ ...plot, points: plot.points.map((p) => ({ ...p, value, expanded })) }))
    const wide = drawPlot({ ...plot, limits: { warning: 6, action: 9 } })
    const { top, bottom } = withinAxes(wide)
    for (const { of } of tags(wide, 'line').filter((line) => line.of['stroke-dasharray'] !== undefined)) {
      expect(Number(of.y1)).toBeGreaterThan(top - 0.01)
      expect(Number(of.y1)).toBeLessThan(bottom + 0.01)
    }
  })

  it('has mean, limits of warning and of action on both sides, each named', () => {
    const named = tags(svg, 'text').filter(({ text: own }) => ['mean', 'warning', 'action'].includes(own))
    expect(named.map(({ text: own }) => own)).toEqual(['mean', 'warning', 'action', 'warning', 'action'])
    const levels = [0.05, 0.05 - 0.6, 0.05 - 0.9, 0.05 + 0.6, 0.05 + 0.9]
    near(
      named.map(({ of }) => Number(of.y) - 3),
      levels.map(y),
    )
    const dashed = tags(svg, 'line').filter(({ of }) => of['stroke-dasharray'] !== undefined)
    near(
      dashed.map(({ of }) => Number(of.y1)),
      levels.map(y),
    )
    for (const { of } of named) expect(Number(of.x)).toBeGreaterThan(Number(dashed[0]!.of.x2))
    insideOf(svg)
    const without = tags(drawPlot({ ...plot, limits: null }), 'text').map(({ text: own }) => own)
    expect(without).toContain('mean')
    expect(without).not.toContain('warning')
  })
})

describe('the plot of settling', () => {
  const panel = (label: string, endMinutes: number) => ({
    label,
    minutes: [-10, 0, 5, endMinutes],
    mk: [4, Number.NaN, -2, 1],
    endMinutes,
  })
  const plot: PlotData = {
    type: 'settling',
    title: 'Settling',
    panels: [1, 2, 3, 4].map((i) => panel(`p${i}, 2${i} °C`, 10)),
  }
  const svg = drawPlot(plot)
  const panels = svg.split('<g ').slice(1)

  it('has a panel for each point, three in a row', () => {
    const places = panels.map((own) => /translate\(([\d.]+) ([\d.]+)\)/.exec(own)!.slice(1).map(Number))
    const { width, height } = sizeOf(svg)
    near(
      places.map(([px]) => px),
      [0, width / 3, (2 * width) / 3, 0],
    )
    near(
      places.map(([, py]) => py),
      [0, 0, 0, height / 2],
    )
    for (const own of panels) expect(own).toMatch(/p\d, 2\d °C/)
  })

  it('has the time of the point shaded, and the reference as far from its mean as it was', () => {
    const { x, y } = axesOf(panels[0]!)
    const [shade] = tags(panels[0]!, 'rect')
    near([Number(shade!.of.x), Number(shade!.of.x) + Number(shade!.of.width)], [x(0), x(10)])
    const [curve] = tags(panels[0]!, 'path')
    for (const own of panels) withinAxes(own)
    // A point of no time yet, and one whose readings all lie within it.
    withinAxes(
      drawPlot({ ...plot, panels: [{ label: 'new', minutes: [0], mk: [0], endMinutes: 0 }] }).split(
        '<g ',
      )[1]!,
    )
    withinAxes(
      drawPlot({ ...plot, panels: [{ label: 'late', minutes: [3, 5], mk: [0, 1], endMinutes: 6 }] }).split(
        '<g ',
      )[1]!,
    )
    // A reading that is no number leaves a gap: the curve begins anew.
    expect(curve!.of.d!.match(/M/g)).toHaveLength(2)
    near(cornersOf(curve!.of.d!).flat().slice(-4), [x(5), y(-2), x(10), y(1)])
    const heights = tags(panels[0]!, 'rect').map(({ of }) => Number(of.y) + Number(of.height))
    const ends = tags(panels[0]!, 'line').filter(
      ({ of }) => of.stroke === PRINT_THEME.soft && of.y1 === of.y2,
    )
    expect(heights[0]).toBeCloseTo(Number(ends[0]!.of.y1), 1)
  })

  it('has one scale for all panels, of 1 mK at least', () => {
    const still = drawPlot({ ...plot, panels: [{ ...panel('still', 10), mk: [0.01, 0, 0, 0] }] })
    const scales = [...panels, still.split('<g ')[1]!].map(axesOf)
    const per = scales.map(({ y }) => Math.abs(y(1) - y(0)))
    near(per.slice(1, 4), [per[0]!, per[0]!, per[0]!])
    expect(per[4]! / per[0]!).toBeCloseTo(4, 1)
    for (const { x } of scales) expect(x(10) - x(-10)).toBeGreaterThan(120)
  })
})

describe('parts of every plot', () => {
  it('has the width of the column of the report, 520', () => {
    const panels = [{ label: 'p', minutes: [0, 1], mk: [0, 1], endMinutes: 1 }]
    for (const plot of [
      RESIDUALS,
      { type: 'budget', title: 'B', lines: [{ name: 'L', uMk: 1, kind: 'B' }] },
      { type: 'uncertainty', title: 'U', celsius: [0, 1], expandedMk: [1, 1], parts: [] },
      { type: 'settling', title: 'S', panels },
      { type: 'chart', title: 'C', unit: 'mK', points: [], centre: 0, limits: null },
    ] as const)
      expect(sizeOf(drawPlot(plot)).width).toBe(520)
  })

  it('span has a margin of its height on either side, and is never of no width', () => {
    near(span([10, 20, 15], 0.1), [9, 21])
    near(span([0, 100]), [-8, 108])
    near(span([Number.NaN, 3, 5, Number.POSITIVE_INFINITY], 0.5), [2, 6])
    near(span([50, 50], 0.08), [46, 54])
    near(span([-50], 0.08), [-54, -46])
    near(span([2], 0.08), [1, 3])
    expect(span([])).toEqual([0, 1])
    expect(span([Number.NaN])).toEqual([0, 1])
  })

  it('tickLabel has as many decimals as the step, a true minus sign, and none before zero', () => {
    expect(tickLabel(-0.5, 0.5)).toBe('−0.5')
    expect(tickLabel(1.5, 0.25)).toBe('1.50')
    expect(tickLabel(-40, 20)).toBe('−40')
    expect(tickLabel(-1e-17, 0.1)).toBe('0.0')
  })

  it('path leaves a gap where a value is not finite', () => {
    expect(
      path([
        [0, 1],
        [1, Number.NaN],
        [2, 3.456],
        [3, 4],
      ]),
    ).toBe('M0,1ZM2,3.46L3,4')
    expect(path([])).toBe('')
  })

  it('text turns, and has the decimal sign of its language', () => {
    expect(text(1.234, 2, '0.5', { ...PRINT_THEME, decimalSign: ',' })).toMatch(
      /^<text x="1.23" y="2" .*>0,5<\/text>$/,
    )
    expect(text(1, 2, 'mK', PRINT_THEME, { rotate: true })).toContain('transform="rotate(-90 1 2)"')
    expect(text(1, 2, 'mK', PRINT_THEME)).not.toContain('transform')
    expect(text(1, 2, 'a', PRINT_THEME, { bold: true })).toContain('font-weight="600"')
    expect(text(1, 2, 'a', PRINT_THEME)).not.toContain('font-weight')
    expect(text(1, 2, 'a', PRINT_THEME)).toContain(`fill="${PRINT_THEME.ink}"`)
    expect(text(1, 2, 'a', PRINT_THEME, { soft: true })).toContain(`fill="${PRINT_THEME.soft}"`)
  })

  it('shortened keeps what fits, and says that it cut', () => {
    expect(shortened('twelve signs', 12)).toBe('twelve signs')
    expect(shortened('twelve signs', 11)).toBe('twelve sig…')
    expect(shortened('twelve signs', 8)).toBe('twelve…')
  })

  it('a page has its own colours, one for each series of the print', () => {
    expect(PAGE_THEME.series).toEqual(['1', '2', '3', '4', '5', '6'].map((n) => `var(--series-${n})`))
    expect(PRINT_THEME.series).toHaveLength(6)
  })
})
