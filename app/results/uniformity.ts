import type { BathSurvey } from '../records/bath.ts'
import type { Bench } from '../records/bench.ts'
import { inForce, type Register } from '../records/register.ts'
import { betweenTemperatures } from './between.ts'
import type { UniformityFacts } from './pair-facts.ts'

/** A bench and what of the register it uses. */
export interface BathInUse {
  readonly bench: Bench
  readonly register: Pick<Register, 'baths'>
}

/** Surveys of a bench's bath: those of its entry in the register; of sessions before baths had one, those of the bench. */
export function surveysOf({ bench, register }: BathInUse): readonly BathSurvey[] {
  const entry = register.baths?.find(({ id }) => id === bench.bath?.register)
  return (entry ?? bench.bath)?.surveys ?? []
}

/** The survey of a bench's bath that holds on a day: the newest not after it. */
export const surveyOf = (use: BathInUse, date: string): BathSurvey | undefined =>
  inForce(surveysOf(use), date)

/**
 * How far places of a bath differ on a day: by its survey, linear between the survey's temperatures and with its smallest
 * degrees of freedom; else by the figure typed on the bench, which is said to be typed and has no date.
 */
export function uniformityOf(use: BathInUse, date: string): UniformityFacts {
  const survey = surveyOf(use, date)
  if (!survey) {
    const uMk = use.bench.bath?.uniformityMk ?? 0
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
