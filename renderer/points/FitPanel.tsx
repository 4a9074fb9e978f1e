import type { Data } from 'plotly.js-dist-min'
import { useMemo, useState } from 'react'
import type { FitView } from '../../app/contract/studies.ts'
import { Digits } from '../parts/Digits.tsx'
import { Raised } from '../parts/Raised.tsx'
import { Scroll } from '../parts/Scroll.tsx'
import { StudyPlot } from '../plots/StudyPlot.tsx'
import { expanded } from '../signs/digits.ts'
import { fixed, significant, unitSign } from '../text/numbers.ts'
import { Budget } from './Budget.tsx'
import { type HysteresisRow, modelWords } from './points.model.ts'
import { deviationTraces, residualTraces } from './traces.ts'

interface Props {
  fit: FitView
  hysteresis: readonly HysteresisRow[]
  theme: string
  onPullCoefficient: (name: string) => void
  onPullPoint: (point: string, field: 'residualMk' | 'expandedMk' | 'signal') => void
}

/** One thermometer's fit: coefficients, what is left over, and how certain each point is. */
export function FitPanel({ fit, hysteresis, theme, onPullCoefficient, onPullPoint }: Props) {
  const [open, setOpen] = useState<string | null>(null)
  const dark = theme === 'dark'
  const residuals = useMemo<Data[]>(() => residualTraces(fit, dark), [fit, dark])
  const deviation = useMemo<Data[]>(() => deviationTraces(fit, dark), [fit, dark])
  return (
    <article className="stack fit" aria-label={`Fit of ${fit.name}`}>
      <header>
        <h2>{fit.name}</h2>
        <p className="faint">
          {fit.refusal ??
            `${modelWords(fit.model)}. ${fixed(fit.degreesOfFreedom, 0)} degrees of freedom, residual standard deviation ${significant(fit.residualSdMk, 2)} mK.`}
        </p>
      </header>
      {fit.coefficients.length > 0 && (
        <Scroll label="Coefficients">
          <table className="table table-narrow">
            <thead>
              <tr>
                <th scope="col" className="left">
                  Coefficient
                </th>
                <th scope="col">Value</th>
                <th scope="col">Standard uncertainty</th>
                <th scope="col">Unit</th>
              </tr>
            </thead>
            <tbody>
              {fit.coefficients.map((c) => (
                <tr key={c.name}>
                  <th scope="row">{c.name}</th>
                  <td>
                    <button
                      type="button"
                      className="digits-pull"
                      title={expanded(c.u)}
                      onClick={() => onPullCoefficient(c.name)}
                    >
                      <Raised
                        text={significant(
                          c.value,
                          Math.min(12, Math.max(3, Math.ceil(Math.log10(Math.abs(c.value) / c.u)) + 1)),
                          -2,
                        )}
                      />
                    </button>
                  </td>
                  <td>
                    <Raised text={significant(c.u, 2)} />
                  </td>
                  <td>
                    <Raised text={unitSign(c.unit) || '1'} />
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </Scroll>
      )}
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
                yTitle="mK"
                theme={theme}
                label={`Deviation of ${fit.name} over its range`}
              />
            </figure>
          )}
        </div>
      )}
      <Scroll label="Points of this fit">
        <table className="table">
          <thead>
            <tr>
              <th scope="col">t90 / °C</th>
              <th scope="col">Signal</th>
              <th scope="col">Residual</th>
              <th scope="col" title="Residual when this point is not used in the fit">
                Left out in turn
              </th>
              <th scope="col">Expanded uncertainty</th>
              <th scope="col">k</th>
              <th scope="col" className="left">
                Conformity
              </th>
              <th scope="col">Budget</th>
            </tr>
          </thead>
          <tbody>
            {fit.points.map((p) => (
              <PointRows
                key={p.point}
                p={p}
                open={open === p.point}
                onOpen={() => setOpen(open === p.point ? null : p.point)}
                onPull={onPullPoint}
              />
            ))}
          </tbody>
        </table>
      </Scroll>
      {hysteresis.length > 0 && (
        <section className="stack">
          <h3>Visited twice</h3>
          <ul className="plain-list">
            {hysteresis.map((row) => (
              <li key={`${row.celsius}${row.second}`}>
                {`${fixed(row.celsius, 1)} °C, ${row.second} less ${row.first}: ${fixed(row.differenceMk, 1)} mK (expanded uncertainty of one visit ${fixed(row.expandedMk, 1)} mK)`}
              </li>
            ))}
          </ul>
        </section>
      )}
    </article>
  )
}

interface RowProps {
  p: FitView['points'][number]
  open: boolean
  onOpen: () => void
  onPull: Props['onPullPoint']
}

function PointRows({ p, open, onOpen, onPull }: RowProps) {
  return (
    <>
      <tr className={p.included ? '' : 'is-out'}>
        <th scope="row">{fixed(p.celsius, 3)}</th>
        <td>
          <Digits value={p.signal} u={null} unit="ohm" onPull={() => onPull(p.point, 'signal')} />
        </td>
        <td>
          <Digits
            value={p.residualMk}
            u={p.expandedMk / p.k}
            unit="mK"
            extra={1}
            onPull={() => onPull(p.point, 'residualMk')}
          />
        </td>
        <td>{p.leaveOneOutMk === null ? '–' : `${fixed(p.leaveOneOutMk, 1)} mK`}</td>
        <td>
          <Digits value={p.expandedMk} u={null} unit="mK" onPull={() => onPull(p.point, 'expandedMk')} />
        </td>
        <td>{fixed(p.k, 2)}</td>
        <td className="left">{p.conformity ?? ''}</td>
        <td>
          <button type="button" className="unfold" aria-expanded={open} onClick={onOpen}>
            {open ? 'Fold' : 'Unfold'}
          </button>
        </td>
      </tr>
      {open && (
        <tr>
          <td colSpan={8} className="left">
            <Budget lines={p.budget} expandedMk={p.expandedMk} k={p.k} />
          </td>
        </tr>
      )}
    </>
  )
}
