import type { Config, Data, Layout } from 'plotly.js-dist-min'
import { useEffect, useRef, useState } from 'react'
import { cssColour } from './palette.ts'

interface Props {
  data: readonly Data[]
  xTitle: string
  yTitle: string
  label: string
  theme: string
  height?: number
  /** 'date' axes take ISO times. */
  xType?: 'linear' | 'date'
}

/** Dates and times along an axis as everywhere else: 2026-02-10, 21:40. Years, months and days first. */
const ISO_DATES: NonNullable<NonNullable<Layout['xaxis']>['tickformatstops']> = [
  { dtickrange: [null, 60_000], value: '%H:%M:%S\n%Y-%m-%d' },
  { dtickrange: [60_000, 86_400_000], value: '%H:%M\n%Y-%m-%d' },
  { dtickrange: [86_400_000, 'M1'], value: '%Y-%m-%d' },
  { dtickrange: ['M1', 'M12'], value: '%Y-%m' },
  { dtickrange: ['M12', null], value: '%Y' },
]

type Plotly = typeof import('plotly.js-dist-min')
let loading: Promise<Plotly> | undefined
/** Plotly is large and comes when the first study is opened, not before. */
const loadPlotly = (): Promise<Plotly> => {
  loading ??= import('plotly.js-dist-min').then((module) =>
    'default' in module ? (module.default as Plotly) : module,
  )
  return loading
}

/** Gives a drawn plot the width it has; one that is not on show cannot be measured and needs none. */
function resize(plotly: Plotly, element: HTMLElement): void {
  if (element.offsetParent) void plotly.Plots.resize(element)
}

/** A plot to study: hover, zoom by wheel and drag, save. */
export function StudyPlot({ data, xTitle, yTitle, label, theme, height = 300, xType = 'linear' }: Props) {
  const host = useRef<HTMLDivElement>(null)
  const [problem, setProblem] = useState(false)
  // biome-ignore lint/correctness/useExhaustiveDependencies: the theme changes the colours read from the page
  useEffect(() => {
    let gone = false
    const element = host.current!
    loadPlotly().then(
      (plotly) => {
        if (gone) return
        const ink = cssColour('--ink-2')
        const axis = {
          color: ink,
          gridcolor: cssColour('--line'),
          zerolinecolor: cssColour('--line-strong'),
          linecolor: cssColour('--line'),
        }
        const layout: Partial<Layout> = {
          paper_bgcolor: 'rgba(0,0,0,0)',
          plot_bgcolor: 'rgba(0,0,0,0)',
          font: { family: '"Inter Variable", sans-serif', size: 12, color: ink },
          margin: { l: 64, r: 14, t: 8, b: 44 },
          height,
          showlegend: data.length > 1,
          legend: { orientation: 'h', y: 1.12, x: 0 },
          xaxis: {
            ...axis,
            title: { text: xTitle },
            type: xType,
            ...(xType === 'date' && { tickformatstops: ISO_DATES }),
          },
          yaxis: { ...axis, title: { text: yTitle }, tickformat: '~r', exponentformat: 'power' },
          hovermode: 'closest',
          dragmode: 'pan',
          datarevision: performance.now(),
        }
        const config: Partial<Config> = {
          displaylogo: false,
          responsive: true,
          scrollZoom: true,
          modeBarButtonsToRemove: ['select2d', 'lasso2d'],
        }
        return plotly.react(element, [...data], layout, config)
      },
      () => setProblem(true),
    )
    return () => {
      gone = true
    }
  }, [data, xTitle, yTitle, theme, height, xType])
  useEffect(() => {
    const element = host.current!
    // Room changes with the window, and also with what is opened beside the plot.
    const seen = new ResizeObserver(() => {
      if (element.querySelector('.main-svg')) loading?.then((plotly) => resize(plotly, element))
    })
    seen.observe(element)
    return () => {
      seen.disconnect()
      void loading?.then((plotly) => plotly.purge(element))
    }
  }, [])
  return (
    <figure className="study-plot" aria-label={label} style={{ minHeight: height }}>
      {problem && <p className="problem">The plots could not be loaded. Open the page again.</p>}
      <div ref={host} />
    </figure>
  )
}
