import type { Command } from 'commander'
import { answerDescribeLine } from '../../../app/statistics/describe-request.ts'
import { jsonLinesCommand } from './json-lines.ts'

const HELP = `Each line is a request; one line is written for each, {"id", ...} or {"id", "error"}.

  {"id":1,"values":[25.001,25.002,25.0015],"interval":1}

Request
  values     numbers, or their decimal text; null where one is missing
  interval   seconds between values, 1 when left out
  times      in place of interval: the time of each value, s, rising (no Allan deviations then)
  marks      1 or true where a value is to be left out
  spikes     true leaves suspected spikes out; {"limit":5,"neighbours":10,"resolution":0.0001} sets the rule
             (median and MAD; over all values, or over so many neighbours on each side)
  allan      overlapping (as it is left out), plain, modified, time, hadamard, overlapping-hadamard, total

Answer
  n, leftOut                        values that count, and that were left out
  mean, sd, lag1                    sd with n - 1; lag1 the autocorrelation coefficient at lag 1
  nEffective, standardError         number of independent values under autocorrelation; sd/sqrt(nEffective)
  drift, driftUncertainty           slope per second and its standard uncertainty, residuals' autocorrelation
  driftDegreesOfFreedom             taken into account
  minimum, maximum, span, duration  span is maximum - minimum
  spikes                            places (from 0) of suspected spikes; marked, never removed by themselves
  allan                             [{"tau","deviation","terms"}] at averaging times of 1, 2, 4 ... intervals

A statistic that the values do not determine (sd of one value, lag1 of equal ones) is null.`

export function describeCommand(): Command {
  return jsonLinesCommand({
    name: 'describe',
    description: 'statistics of series of values',
    help: HELP,
    answer: answerDescribeLine,
  })
}
