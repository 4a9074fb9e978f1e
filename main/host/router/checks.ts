import { chartView } from '../../../app/comparison/history.ts'
import { chartOf } from '../checks-history.ts'
import { enterCalibration, takeWtp } from '../checks-session.ts'
import { notFound, os } from './base.ts'
import { custodianOf } from './register.ts'

export const checkRoutes = {
  takeWtp: os.checks.takeWtp.handler(async ({ context: { services }, input }) => ({
    words: await takeWtp(services, input.session, {
      who: custodianOf(services, input.token),
      why: input.why,
    }),
  })),
  enterCalibration: os.checks.enterCalibration.handler(async ({ context: { services }, input }) => ({
    words: await enterCalibration(services, input, {
      who: custodianOf(services, input.token),
      why: input.why,
    }),
  })),
  history: os.checks.history.handler(async ({ context: { services }, input }) => {
    const chart = await chartOf(services, input.kind, input.id, input.celsius)
    if (!chart) notFound(`There is no "${input.id}" in the register to keep a chart of.`)
    return chartView(chart)
  }),
}
