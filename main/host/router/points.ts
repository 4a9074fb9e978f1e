import { said } from '../../../app/messages/said.ts'
import { LeaveOut } from '../../../app/records/decision.ts'
import { certificateFile, signOffSession } from '../issue-certificates.ts'
import { needAnother, needPassword, needPoint, needWhole } from '../sign-off.ts'
import { signOffHolds } from '../sign-off-holds.ts'
import { threadFor } from '../threads.ts'
import { blob, decider, nameOf, needRight, notFound, os, refused } from './base.ts'

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
  certificateHtml: os.points.certificateHtml.handler(({ context, input, signal }) =>
    context.services.reports.ask(signal).certificateHtml(input.session, input.thermometer),
  ),
  certificatePdf: os.points.certificatePdf.handler(async ({ context, input, signal }) =>
    blob((await certificateFile(context.services, input, 'pdf', signal))!, 'application/pdf'),
  ),
  certificateXml: os.points.certificateXml.handler(async ({ context, input, signal }) => {
    const xml = await certificateFile(context.services, input, 'xml', signal)
    if (xml === null) refused(said('no-result-for-dcc', {}))
    return blob(xml, 'application/xml')
  }),
  thread: os.points.thread.handler(async ({ context, input }) => {
    const thread = await threadFor(context.services, input.session, input.key)
    if (!thread) notFound(said('nothing-to-unfold', { key: input.key }))
    return thread
  }),

  signOffHolds: os.points.signOffHolds.handler(async ({ context: { services }, input }) => {
    const { refusal, gaps, findings } = await signOffHolds(services, input.session)
    const unvalidated = await services.validation.refusal()
    return {
      refusal: (refusal ?? unvalidated)?.words ?? null,
      gaps: [...gaps],
      findings: [...findings],
      hasKey: services.signing.hasKey,
      keepsPassword: services.signing.keepsPassword,
    }
  }),
  signOff: os.points.signOff.handler(async ({ context, input }) => {
    const { services } = context
    const { session, password, keyPassword, keyKept, ...answers } = input
    if (services.station.session?.info.id === session) {
      refused(said('sign-while-running', {}))
    }
    const signer = decider(context)
    await needPassword(services, signer, password, context.call.window.address ?? context.call.window)
    const unvalidated = await services.validation.refusal()
    if (unvalidated) refused(unvalidated)
    await needWhole(services, session)
    needAnother(services, session, signer)
    const signing = await services.signing.openFor({ keyPassword, keyKept })
    return { words: await signOffSession(services, { ...answers, session, who: signer.name }, signing) }
  }),

  leaveOut: os.points.leaveOut.handler(({ context, input }) => {
    const { services } = context
    const { point, channel, why, restore } = input
    const who = nameOf(context)
    needPoint(services, input.session, point, channel)
    // What was signed stays signed: a decision after it opens the next version, by somebody who may sign that.
    if (services.sessions.read(input.session).signOffs.length > 0)
      needRight(
        context,
        'authorise',
        'The report of this session is signed. A decision now opens its next version, by who may sign it.',
      )
    const what = channel === undefined ? said('point-whole', { point }) : said('point-of', { channel, point })
    context.services.sessions.addEvents(input.session, [
      {
        kind: 'decision',
        who,
        subject: channel ?? null,
        said: said(restore ? 'taken-back' : 'left-out', { who, what, why }),
        data: LeaveOut.parse({ act: 'leave-out', point, channel, why, restore }),
      },
    ])
    context.services.station.touched('points')
    return { words: restore ? 'It counts again.' : 'It is left out of the fits. Nothing is deleted.' }
  }),
}
