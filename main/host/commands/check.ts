import type { Command } from 'commander'
import { answerCheckLine } from '../../../app/comparison/check-request.ts'
import { jsonLinesCommand } from './json-lines.ts'

const HELP = `Each line is a request; one line is written for each, {"id", ...} or {"id", "error"}.

  {"id":1,"check":"interchange","pairs":[{"name":"25 and 100","ratio":0.25000012,"u":2e-8,"reciprocal":3.9999981,"uReciprocal":3e-7}]}
  {"id":2,"check":"networks","readings":[{"network":"a","ratio":0.2513,"u":2e-8},{"network":{"series":["a","b"]},"ratio":0.751,"u":2e-8}]}
  {"id":3,"check":"plateau","fixedPoint":"In","depthM":0.16,"uCellMk":0.3,"ohmPerKelvin":0.0965,"times":[0,30],"ohm":[41.04,41.04]}
  {"id":4,"check":"fixed-points","plateaus":[{"fixedPoint":"H2O","ohm":25.5,"depthM":0.25,"uCellMk":0.05,"ohmPerKelvin":0.1017,"uTypeAMk":0.02}]}
  {"id":5,"check":"resistor","date":"2026-03-01","ratio":1.0000019,"uRatio":5e-8,"better":{...},"resistor":{...}}

interchange    n(a, b) n(b, a) - 1 of each pair with its expanded uncertainty (k = 2)
networks       errors of a bridge from combinations of a few resistors, each measured alone as well; network is a name,
               {"series":[...]} or {"parallel":[...]}; powers of the error ([0,2]); a term in n itself only interchange shows
plateau        finds melt, freeze or hold in a record (s, ohm), corrects head, pressure (Pa) and self-heating (mK)
fixed-points   ITS-90 coefficients with uncertainty from reduced plateaus, one of them H2O; tableC: temperatures at which
               the uncertainty is wanted
resistor       value of a resistor against a better one (both as in the register), what was expected, drift, the new entry

All u are standard uncertainties. Where something is missing or does not determine the result the answer says what.`

export function checkCommand(): Command {
  return jsonLinesCommand({
    name: 'check',
    description: 'checks of bridges and resistors, and fixed-point work',
    help: HELP,
    answer: answerCheckLine,
  })
}
