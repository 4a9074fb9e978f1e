import { drawBudget } from './budget.ts'
import { drawChart } from './chart.ts'
import { type PlotData, PRINT_THEME, type Theme } from './plot.ts'
import { drawResiduals } from './residuals.ts'
import { drawSettling } from './settling.ts'
import { drawUncertainty } from './uncertainty.ts'

/** Any plot of the report as a self-contained SVG. */
export function drawPlot(plot: PlotData, theme: Theme = PRINT_THEME): string {
  switch (plot.type) {
    case 'residuals':
      return drawResiduals(plot, theme)
    case 'uncertainty':
      return drawUncertainty(plot, theme)
    case 'budget':
      return drawBudget(plot, theme)
    case 'settling':
      return drawSettling(plot, theme)
    case 'chart':
      return drawChart(plot, theme)
  }
}
