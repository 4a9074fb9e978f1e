import { utcDay } from '../../../app/base/times.ts'
import { withCell } from '../../../app/checks/cell-said.ts'
import { chartView } from '../../../app/checks/history.ts'
import packageJson from '../../../package.json' with { type: 'json' }
import { recordCheck, withKeptResistors } from '../../study/checks.ts'
import { registerWork } from '../../study/register-work.ts'
import { chartOf } from '../checks-history.ts'
import { enterCalibration, measuredWtp, takeWtp } from '../checks-session.ts'
import { lifeView } from '../life.ts'
import { practise } from '../practice-desk.ts'
import { blob, nameOf, notFound, os } from './base.ts'

export const checkRoutes = {
  takeWtp: os.checks.takeWtp.handler(async ({ context, input }) => ({
    words: await takeWtp(context.services, input.session, {
      who: nameOf(context),
      why: input.why,
    }),
  })),
  enterCalibration: os.checks.enterCalibration.handler(async ({ context, input }) => ({
    words: await enterCalibration(context.services, input, {
      who: nameOf(context),
      why: input.why,
    }),
  })),
  measuredWtp: os.checks.measuredWtp.handler(({ context: { services }, input }) =>
    measuredWtp(services, input.session),
  ),
  plateau: os.checks.plateau.handler(({ context: { services }, input, signal }) =>
    services.reports
      .ask(signal)
      .plateau(
        input.session,
        input.channel,
        withCell(input.cell, services.store.records.all('cell')),
        input.rWtp,
      ),
  ),
  record: os.checks.record.handler(({ context, input }) => {
    const { services } = context
    const who = nameOf(context)
    const today = utcDay(services.clock.now().utcUs)
    const request = withKeptResistors(services.store, input.request)
    const words = recordCheck(services.store, request, { who, why: input.why }, today)
    services.station.touched('register')
    return { words }
  }),
  life: os.checks.life.handler(({ context: { services }, input }) => {
    const view = lifeView(services, input.kind, input.id)
    if (!view) notFound(`There is no ${input.kind} "${input.id}" in the register.`)
    return view
  }),
  certificate: os.checks.certificate.handler(async ({ context: { services }, input, signal }) => {
    const { format, ...of } = input
    const work = registerWork(services.store, of, {
      name: 'Stillpoint',
      version: packageJson.version,
    })
    const ask = services.reports.ask(signal)
    return format === 'pdf'
      ? blob(await ask.registerPdf(work, of), 'application/pdf')
      : new Blob([await ask.registerPage(work, of)], { type: 'text/html' })
  }),
  practise: os.checks.practise.handler(async ({ context: { services }, input }) => ({
    words: await practise(services, input.what, input.seed),
  })),
  charted: os.checks.charted.handler(({ context: { services }, input, signal }) =>
    services.reader.lists(signal).charted(services.folder, input),
  ),
  history: os.checks.history.handler(async ({ context: { services }, input, signal }) => {
    const found = await chartOf(services, input, signal)
    if (!found) notFound(`There is no "${input.id}" in the register to keep a chart of.`)
    return chartView(found.chart, found.pending)
  }),
}
