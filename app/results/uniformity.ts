import type { BathSpec, BathSurvey } from '../records/bench.ts'
import { inForce } from '../records/register.ts'
import { betweenTemperatures } from './between.ts'
import type { UniformityFacts } from './pair-facts.ts'

/** The survey of a bath that holds on a day: the newest not after it. */
export function surveyOf(bath: BathSpec | undefined, date: string): BathSurvey | undefined {
  return inForce(bath?.surveys ?? [], date)
}

/**
 * How far places of a bath differ on a day: by its survey, linear between the survey's temperatures and with its smallest
 * degrees of freedom; else by the figure typed on the bench, which is said to be typed and has no date.
 */
export function uniformityOf(bath: BathSpec | undefined, date: string): UniformityFacts {
  const survey = surveyOf(bath, date)
  if (!survey) {
    const uMk = bath?.uniformityMk ?? 0
    return {
      uMk: () => uMk,
      degreesOfFreedom: Number.POSITIVE_INFINITY,
      source: 'typed on the bench, without a date: no survey stands behind it',
    }
  }
  return {
    uMk: (celsius) => betweenTemperatures(survey.points, 'uMk', celsius),
    degreesOfFreedom: Math.min(...survey.points.map((p) => p.degreesOfFreedom)),
    source: `survey of ${survey.date} by ${survey.who}: ${survey.positions.length} positions, ${survey.points.length} temperatures`,
  }
}
