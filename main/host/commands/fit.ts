import type { Command } from 'commander'
import { answerFitLine } from '../../../app/fit/fit-request.ts'
import { jsonLinesCommand } from './json-lines.ts'

const HELP = `Each line is a request; one line is written for each, {"id", ...} or {"id", "error"}.

  {"id":1,"x":[0,1,2,3],"y":[1,3.1,4.9,7],"model":{"kind":"polynomial","degree":1,"intercept":true}}
  {"id":2,"x":[[83,2356],[88.5,2325],[88.2,3682],[89.5,3351]],"y":[60.3,61.1,60.2,61.2],"model":{"kind":"linear"}}
  {"id":3,"x":[0.01,29.7646,100,156.5985],"y":[25.5,28.51,35.5,41.04],"model":{"kind":"its90","subrange":"3.3.2.4"}}

Request
  x, y          numbers, or their decimal text; for a thermometer x in degC and y in ohm
  weights       one for each point, relative; with "weightsAre":"absolute" each is 1/u^2 of its y
  uY, uX        in place of weights: standard uncertainties of y and (thermometers) of x in kelvin; the
                covariance then follows from them, not from the scatter of the residuals
  model         {"kind":"polynomial","degree":3,"intercept":true}
                {"kind":"linear","intercept":true}        x holds rows of several values
                {"kind":"its90","rWtp"?,"subrange"?,"wAluminium"?}
                                 R(WTP) from the points at 0.01 degC where it is not given; the narrowest
                                 subrange that holds the points, or two joined ones, unless named
                {"kind":"callendar-van-dusen","r0"?,"c"?} r0 and c are fitted unless held at a value;
                                 "c":false holds it at 0, as is done where no point lies below 0 degC
                {"kind":"steinhart-hart","powers":[0,1,3]}

Answer
  coefficients, standardUncertainties   ascending powers; by name (a, b, c ... and r0, a, b, c) for its90 and
                                        callendar-van-dusen; in the order of powers for steinhart-hart
  coefficientNames, covariance          covariance has its rows and columns in the order of the names
  residuals, residualSd, rSquared       y - fit and its standard deviation, in the unit of y; without a
                                        constant term rSquared is taken about zero
  leaveOneOutResiduals                  what each residual would be, had its point not taken part
  degreesOfFreedom, chiSquared          points less coefficients; sum of weight times residual squared
  condition                             condition number of the scaled columns
  residualsKelvin, residualSdKelvin     for a thermometer
  equation                              for a thermometer: what was fitted, W - Wr, R or 1/T, with its unit, its
                                        residuals and their standard deviation
  conversion, notes                     for a thermometer: what convert takes, and what was decided on the way

Where the points do not determine the coefficients the answer is an error that names the columns.`

export function fitCommand(): Command {
  return jsonLinesCommand({
    name: 'fit',
    description: 'least-squares fits, plain and of thermometers',
    help: HELP,
    answer: answerFitLine,
  })
}
