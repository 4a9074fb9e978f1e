import type { Data } from 'plotly.js-dist-min'
import { at } from '../../app/base/lists.ts'
import type { FitView } from '../../app/contract/studies.ts'
import { seriesLook } from '../plots/palette.ts'

/** Residuals with bars of expanded uncertainty; what each would be without its own point, hollow. */
export function residualTraces(fit: FitView, dark: boolean): Data[] {
  const look = seriesLook(0, dark)
  const second = seriesLook(2, dark)
  const included = fit.points.filter((p) => p.included)
  const out = fit.points.filter((p) => !p.included)
  const traces: Data[] = [
    {
      type: 'scatter',
      mode: 'markers',
      name: 'Residual',
      x: included.map((p) => p.celsius),
      y: included.map((p) => p.residualMk),
      error_y: {
        type: 'data',
        array: included.map((p) => p.expandedMk),
        color: look.colour,
        thickness: 1.2,
        width: 4,
      },
      marker: { color: look.colour, size: 9, symbol: 'circle' },
    },
    {
      type: 'scatter',
      mode: 'markers',
      name: 'Left out in turn',
      x: included.map((p) => p.celsius),
      y: included.map((p) => p.leaveOneOutMk),
      marker: { color: second.colour, size: 9, symbol: 'diamond-open' },
    },
  ]
  if (out.length > 0)
    traces.push({
      type: 'scatter',
      mode: 'markers',
      name: 'Left out by a person',
      x: out.map((p) => p.celsius),
      y: out.map((p) => p.residualMk),
      marker: { color: seriesLook(5, dark).colour, size: 10, symbol: 'x-thin-open' },
    })
  return traces
}

/** The fitted deviation with its band, or the uncertainty alone where there is no nominal function. */
export function deviationTraces(fit: FitView, dark: boolean): Data[] {
  const look = seriesLook(0, dark)
  const x = fit.band.map((b) => b.celsius)
  const middle = fit.band.map((b) => b.deviationMk ?? 0)
  const upper = fit.band.map((b, i) => at(middle, i) + b.expandedMk)
  const lower = fit.band.map((b, i) => at(middle, i) - b.expandedMk)
  return [
    {
      type: 'scatter',
      mode: 'lines',
      name: 'Expanded uncertainty',
      x,
      y: upper,
      line: { color: look.colour, width: 1, dash: 'dot' },
      showlegend: false,
      hoverinfo: 'skip',
    },
    {
      type: 'scatter',
      mode: 'lines',
      name: 'Expanded uncertainty',
      x,
      y: lower,
      line: { color: look.colour, width: 1, dash: 'dot' },
      fill: 'tonexty',
      fillcolor: `${look.colour}22`,
    },
    // Without a nominal function there is no deviation to draw: the band alone says how certain the fit is.
    ...(fit.band.some((b) => b.deviationMk !== null)
      ? [
          {
            type: 'scatter' as const,
            mode: 'lines' as const,
            name: 'Fit',
            x,
            y: middle,
            line: { color: look.colour, width: 2 },
          },
        ]
      : []),
  ]
}
