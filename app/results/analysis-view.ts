import type { FitView } from '../contract/studies.ts'
import { kindOf } from '../kinds/table.ts'
import type { Analysis, ThermometerResult } from './analysis.ts'
import { deviationFromStandardMk, VERDICT_WORDS } from './conformity.ts'
import { upAndDown } from './hysteresis.ts'

function viewOf(result: ThermometerResult): FitView {
  const { record, fit, conformity } = result
  const nominalOhm = record.thermometer.nominalOhm ?? 100
  const deviation = (celsius: number, ohm: number) =>
    kindOf(record.thermometer).classes === 'iec60751'
      ? deviationFromStandardMk(ohm, nominalOhm, celsius)
      : null
  return {
    channel: record.channel.id,
    thermometer: record.thermometer.id,
    name: record.thermometer.name,
    model: result.model,
    conversion: fit?.fit.conversion ?? null,
    refusal: result.refusal,
    coefficients: result.coefficients.map(({ name, value, unit, budget }) => ({
      name,
      value,
      u: budget.u,
      k: budget.k,
      unit,
    })),
    degreesOfFreedom: fit?.fit.degreesOfFreedom ?? 0,
    residualSdMk: fit && Number.isFinite(fit.residualMk) ? fit.residualMk : 0,
    points: result.points.map(({ pair, included, residualMk, leaveOneOutMk, budget }) => {
      const judged = conformity?.points.find((p) => p.point === pair.point)
      return {
        point: pair.point,
        celsius: pair.referenceC,
        signal: pair.underTest.signal,
        residualMk,
        leaveOneOutMk,
        expandedMk: budget.expanded,
        k: budget.k,
        included,
        budget: budget.lines
          .filter((line) => line.u > 0)
          .map(({ name, u, kind, degreesOfFreedom, source }) => ({
            name,
            uMk: u,
            kind,
            degreesOfFreedom: Number.isFinite(degreesOfFreedom) ? degreesOfFreedom : null,
            source,
          })),
        conformity:
          judged && conformity ? `class ${conformity.class}: ${VERDICT_WORDS[judged.verdict]}` : null,
      }
    }),
    hysteresis: result.revisits.flatMap(({ setpointC, visits }) => {
      const difference = upAndDown(visits)
      if (!difference) return []
      const names = (down: boolean) =>
        visits.flatMap((v) => (v.afterHottest === down ? [v.label ?? v.point] : [])).join(', ')
      return [
        {
          celsius: setpointC,
          first: names(false),
          second: names(true),
          differenceMk: difference.mk,
          expandedMk: 2 * difference.u,
        },
      ]
    }),
    band: result.band.map(({ celsius, signal, budget }) => ({
      celsius,
      expandedMk: budget.expanded,
      deviationMk: deviation(celsius, signal),
    })),
  }
}

/** The fits of a comparison as the window shows them. */
export function fitViews(analysis: Analysis): FitView[] {
  return analysis.thermometers.map(viewOf)
}
