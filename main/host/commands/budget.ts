import type { Command } from 'commander'
import { last } from '../../../app/base/lists.ts'
import { answerBudgetLine } from '../../../app/statistics/budget-request.ts'
import { FUNCTION_NAMES } from '../../../app/statistics/expression-text.ts'
import { DISTRIBUTION_NAMES } from '../../../app/statistics/input-statement.ts'
import { jsonLinesCommand } from './json-lines.ts'

function inLines(words: readonly string[], indent: string): string {
  const lines: string[] = ['']
  for (const word of words) {
    if (last(lines).length + word.length > 78) lines.push('')
    lines[lines.length - 1] += `${lines.at(-1) === '' ? '' : ', '}${word}`
  }
  return lines.map((line) => indent + line).join(',\n')
}

const HELP = `Each line is a request; one line is written for each, {"id", ...} or {"id", "error"}.

  {"id":1,"inputs":[{"name":"R","value":100.02,"standardUncertainty":0.001,"degreesOfFreedom":9},
   {"name":"drift","value":0,"distribution":"rectangular","halfWidth":0.002}],"model":"R + drift"}     (one line)

Request
  inputs        name, value, and the uncertainty in one way:
                  standardUncertainty;  halfWidth;  lower and upper;  expanded with k (or with coverage);
                  observations, an array: mean, s/sqrt(n) and n - 1 follow
                degreesOfFreedom: a number; null or left out means infinitely many
                distribution, one of
${inLines(Object.keys(DISTRIBUTION_NAMES), '                  ')}
                left out: t with observations or finite degreesOfFreedom, rectangular with a halfWidth or
                limits, normal otherwise, constant without an uncertainty
                ratio: top over base (trapezoidal);  limits: half-width of the limits' own uncertainty
                (curvilinear-trapezoidal)
  correlations  [{"a":"x","b":"y","r":0.5}]; r may be left out where both have observations, made in pairs
  model         an expression of the inputs: + - * / ^, brackets, pi, e and the functions
${inLines(FUNCTION_NAMES, '                  ')}
                (log is the natural logarithm, log(x, 10) that to base 10),
                or several results, {"R":"V/I*cos(p)","X":"V/I*sin(p)"}, answered with their correlations
  coverage      0.95 when left out; 0.6827, 0.9545 and 0.9973 stand for 1, 2 and 3 standard deviations exactly
  k             a coverage factor agreed beforehand, in place of coverage
  unit          handed back
  Also understood: u, dof, estimate, U, low and high for the fields of an input; inputs as an object by name;
                correlations as [a, b, r], as a matrix, by name {"x":{"y":0.5}}, or with an input {"y":0.5}
  monteCarlo    {"trials":1000000,"seed":1,"digits":2}, or {"adaptive":true,"digits":2,"maximumTrials":5000000};
                false leaves it out. The same seed gives the same result.

Answer
  value         the model at the estimates
  jcgm100       value, sensitivities, standardUncertainties and contributions by input, combined,
                effectiveDegreesOfFreedom (null: infinitely many), degreesOfFreedomUsed (truncated), k,
                coverage, U, interval, higherOrder (with the terms of next higher order), notes
  jcgm101       value, standardUncertainty, symmetric and shortest interval, coverage, trials, seed,
                tolerance and stable for an adaptive run
  comparison    dLow and dHigh, the distances of the ends of the two intervals, delta, the tolerance, and
                validated: both within it; the same for the shortest interval and with higherOrder`

export function budgetCommand(): Command {
  return jsonLinesCommand({
    name: 'budget',
    description: 'uncertainty budgets by JCGM 100 and JCGM 101',
    help: HELP,
    answer: answerBudgetLine,
  })
}
