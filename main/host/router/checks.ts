import { utcDay } from '../../../app/base/times.ts'
import { withCell } from '../../../app/checks/cell-said.ts'
import { chartView } from '../../../app/checks/history.ts'
import { said } from '../../../app/messages/said.ts'
import { recordCheck, withKeptResistors } from '../../study/checks.ts'
import { chartOf } from '../checks-history.ts'
import { enterCalibration, measuredWtp, takeWtp } from '../checks-session.ts'
import { lifeView, nightsOfBath } from '../life.ts'
import { practise } from '../practice-desk.ts'
import type { Services } from '../services.ts'
import { needPassword } from '../sign-off.ts'
import { registerFile, signedWork, signRegisterWork, workFor } from '../sign-register-work.ts'
import { blob, decider, nameOf, notFound, os } from './base.ts'

const groundOf = (services: Services) => ({
  store: services.store,
  reports: services.reports,
  paper: services.settings().paper,
})

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
  life: os.checks.life.handler(async ({ context: { services }, input, signal }) => {
    const nights = input.kind === 'bath' ? await nightsOfBath(services, input.id, signal) : []
    const view = lifeView(services, input.kind, input.id, nights)
    if (!view) notFound(said('not-in-register', { what: input.kind, id: input.id }))
    return view
  }),
  certificate: os.checks.certificate.handler(async ({ context: { services }, input, signal }) => {
    const { format, ...of } = input
    if (format === 'html') {
      const page = await services.reports.ask(signal).registerPage(workFor(services.store, of), of)
      return new Blob([page], { type: 'text/html' })
    }
    const { data } = await registerFile(groundOf(services), of, format, signal)
    return blob(data, format === 'pdf' ? 'application/pdf' : 'application/xml')
  }),
  certificateHolds: os.checks.certificateHolds.handler(async ({ context: { services }, input, signal }) => {
    const { store, reports, signing } = services
    const { gaps } = await reports.ask(signal).registerFacts(workFor(store, input), input)
    return {
      gaps: [...gaps],
      signed: signedWork(store, input)?.number ?? null,
      hasKey: signing.hasKey,
      keepsPassword: signing.keepsPassword,
    }
  }),
  signCertificate: os.checks.signCertificate.handler(async ({ context, input }) => {
    const { services } = context
    const { kind, id, entry, password, keyPassword, keyKept, ...said } = input
    const signer = decider(context)
    await needPassword(services, signer, password, context.call.window.address ?? context.call.window)
    const signing = await services.signing.openFor({ keyPassword, keyKept })
    const words = await signRegisterWork(
      { ...groundOf(services), clock: services.clock },
      { kind, id, entry },
      { ...said, who: signer.name },
      signing,
    )
    services.station.touched('register')
    return { words }
  }),
  practise: os.checks.practise.handler(async ({ context: { services }, input }) => ({
    words: await practise(services, input.what, input.seed),
  })),
  charted: os.checks.charted.handler(({ context: { services }, input, signal }) =>
    services.reader.lists(signal).charted(services.folder, input),
  ),
  history: os.checks.history.handler(async ({ context: { services }, input, signal }) => {
    const found = await chartOf(services, input, signal)
    if (!found) notFound(said('no-chart-of', { input: input.id }))
    return chartView(found.chart, found.pending)
  }),
}
