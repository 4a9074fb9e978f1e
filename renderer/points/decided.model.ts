import type { Mark } from '../../app/records/mark.ts'
import type { Point } from '../../app/records/point.ts'
import type { LeftOut } from '../../app/results/analysis-input.ts'

const LEFT_OUT = 'rejected-by-person' satisfies Mark

const marked = <M extends string>(marks: readonly M[], out: boolean): (M | typeof LEFT_OUT)[] =>
  out && !(marks as readonly string[]).includes(LEFT_OUT) ? [...marks, LEFT_OUT] : [...marks]

/** Points with the mark of what a person has decided since they were taken: the record itself keeps them as they were. */
export function withDecisions(points: readonly Point[], leftOut: readonly LeftOut[]): Point[] {
  return points.map((point) => {
    const own = leftOut.filter((one) => one.point === point.id)
    if (own.length === 0) return point
    return {
      ...point,
      marks: marked(
        point.marks,
        own.some(({ channel }) => channel === null),
      ),
      channels: point.channels.map((used) => ({
        ...used,
        marks: marked(
          used.marks,
          own.some(({ channel }) => channel === used.channel),
        ),
      })),
    }
  })
}

/** Why a point, or a channel of it, is left out: 'left out by M. Tarn: the lid was open'. */
export function decisionWords(
  point: string,
  leftOut: readonly LeftOut[],
  nameOf: (channel: string) => string,
): string[] {
  return leftOut
    .filter((one) => one.point === point)
    .map(({ channel, who, why }) => {
      const what = channel === null ? 'left out' : `${nameOf(channel)} left out`
      return `${what} by ${who}${why ? `: ${why}` : ''}`
    })
}
