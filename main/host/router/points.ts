import { LeaveOut } from '../../../app/records/decision.ts'
import { certificateFile, signOffSession } from '../issue-certificates.ts'
import { threadFor } from '../threads.ts'
import { blob, forbidden, notFound, os, refused } from './base.ts'

export const pointRoutes = {
  list: os.points.list.handler(({ context: { services }, input, signal }) =>
    input.coefficients === 'now'
      ? services.reports.ask(signal).pointsOfNow(input.session)
      : [...services.sessions.read(input.session).points()],
  ),
  fits: os.points.fits.handler(({ context, input, signal }) =>
    context.services.reports.ask(signal).fits(input.session),
  ),
  report: os.points.report.handler(
    async ({ context, input, signal }) =>
      JSON.parse(await context.services.reports.ask(signal).json(input.session)) as Record<string, unknown>,
  ),
  reportHtml: os.points.reportHtml.handler(({ context, input, signal }) =>
    context.services.reports.ask(signal).html(input.session, false),
  ),
  reportPdf: os.points.reportPdf.handler(async ({ context, input, signal }) =>
    blob(await context.services.reports.ask(signal).pdf(input.session, input.paper), 'application/pdf'),
  ),
  certificates: os.points.certificates.handler(({ context, input, signal }) =>
    context.services.reports.ask(signal).certificates(input.session),
  ),
  certificatePdf: os.points.certificatePdf.handler(async ({ context, input, signal }) =>
    blob((await certificateFile(context.services, input, 'pdf', signal))!, 'application/pdf'),
  ),
  certificateXml: os.points.certificateXml.handler(async ({ context, input, signal }) => {
    const xml = await certificateFile(context.services, input, 'xml', signal)
    if (xml === null) refused('This item has no result that a digital certificate could state.')
    return blob(xml, 'application/xml')
  }),
  thread: os.points.thread.handler(async ({ context, input }) => {
    const thread = await threadFor(context.services, input.session, input.key)
    if (!thread) notFound(`There is nothing to unfold under ${input.key}.`)
    return thread
  }),

  signOffHolds: os.points.signOffHolds.handler(async ({ context: { services }, input }) => {
    const { refusal, gaps, findings } = await services.reports.ask().signOffHolds(input.session)
    return { refusal, gaps: [...gaps], findings: [...findings], hasKey: services.signing.hasKey }
  }),
  signOff: os.points.signOff.handler(async ({ context, input }) => {
    const { services } = context
    const { session, person, password, keyPassword, ...said } = input
    if (services.station.session?.info.id === session) {
      refused('The session is still running. A report is signed when its session has ended.')
    }
    if (!services.store.checkCustodian(person, password)) {
      forbidden('A report is signed by the custodian. Name or password are not right.')
    }
    const signing = keyPassword ? await services.signing.open(keyPassword) : null
    return { words: await signOffSession(services, { ...said, session, who: person }, signing) }
  }),

  leaveOut: os.points.leaveOut.handler(({ context, input }) => {
    const { point, channel, who, why, restore } = input
    const what = channel === undefined ? `point ${point}` : `${channel} at point ${point}`
    context.services.sessions.addEvents(input.session, [
      {
        kind: 'decision',
        who,
        subject: channel ?? null,
        words: `${who} ${restore ? 'took' : 'left'} ${what} ${restore ? 'back in' : 'out'}: ${why}`,
        data: LeaveOut.parse({ act: 'leave-out', point, channel, why, restore }),
      },
    ])
    context.services.station.touched('points')
    return { words: restore ? 'It counts again.' : 'It is left out of the fits. Nothing is deleted.' }
  }),
}
