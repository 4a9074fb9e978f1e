import type { Data } from 'plotly.js-dist-min'
import { useMemo } from 'react'
import { counted } from '../../app/base/plural.ts'
import type { FitView } from '../../app/contract/studies.ts'
import type { PointChannel } from '../../app/records/point.ts'
import { StudyPlot } from '../plots/StudyPlot.tsx'
import { significant } from '../text/numbers.ts'
import { Coefficients } from './Coefficients.tsx'
import { FitPoints } from './FitPoints.tsx'
import { Hysteresis } from './Hysteresis.tsx'
import { modelWords, type PullField } from './points.model.ts'
import { deviationTraces, residualTraces } from './traces.ts'

interface Props {
  fit: FitView
  theme: string
  used: (point: string) => PointChannel | undefined
  onPullCoefficient: (name: string) => void
  onPullPoint: (point: string, field: PullField) => void
  onLeaveOut: (point: string) => void
}

/** One thermometer's fit: coefficients, what is left over, and how certain each point is. */
export function FitPanel({ fit, theme, used, onPullCoefficient, onPullPoint, onLeaveOut }: Props) {
  const dark = theme === 'dark'
  const residuals = useMemo<Data[]>(() => residualTraces(fit, dark), [fit, dark])
  const deviation = useMemo<Data[]>(() => deviationTraces(fit, dark), [fit, dark])
  return (
    <article className="stack fit" aria-label={`Fit of ${fit.name}`}>
      <header>
        <h2>{fit.name}</h2>
        <p className="faint">{fit.refusal ?? `${modelWords(fit.model)}. ${freedomWords(fit)}`}</p>
      </header>
      {fit.coefficients.length > 0 && <Coefficients fit={fit} onPull={onPullCoefficient} />}
      {fit.conversion && (
        <div className="halves">
          <figure>
            <figcaption>Residuals with expanded uncertainty</figcaption>
            <StudyPlot
              data={residuals}
              xTitle="t90 / °C"
              yTitle="Residual / mK"
              theme={theme}
              label={`Residuals of ${fit.name}`}
            />
          </figure>
          {fit.band.length > 0 && (
            <figure>
              <figcaption>
                {fit.band.some((b) => b.deviationMk !== null)
                  ? 'Deviation from the nominal function, with its expanded uncertainty'
                  : 'Expanded uncertainty over the range'}
              </figcaption>
              <StudyPlot
                data={deviation}
                xTitle="t90 / °C"
                yTitle={fit.band.some((b) => b.deviationMk !== null) ? 'Deviation / mK' : 'U / mK'}
                theme={theme}
                label={`Deviation of ${fit.name} over its range`}
              />
            </figure>
          )}
        </div>
      )}
      <FitPoints key={fit.channel} fit={fit} used={used} onPull={onPullPoint} onLeaveOut={onLeaveOut} />
      {fit.hysteresis.length > 0 && <Hysteresis rows={fit.hysteresis} />}
    </article>
  )
}

function freedomWords({ degreesOfFreedom: n, residualSdMk }: FitView): string {
  if (n === 0) return 'No degree of freedom: the fit goes through its points, so the residuals say nothing.'
  return `${counted(n, 'degree')} of freedom, residual standard deviation ${significant(residualSdMk, 2)} mK.`
}
