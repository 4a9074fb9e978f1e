import { LeaveOut } from '../../../app/records/decision.ts'
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
  certificatePdf: os.points.certificatePdf.handler(async ({ context, input, signal }) => {
    const { session, thermometer, paper } = input
    return blob(
      await context.services.reports.ask(signal).certificatePdf(session, thermometer, paper),
      'application/pdf',
    )
  }),
  certificateXml: os.points.certificateXml.handler(async ({ context, input, signal }) => {
    const { session, thermometer, paper } = input
    const xml = await context.services.reports.ask(signal).certificateXml(session, thermometer, paper)
    if (xml === null) refused('This item has no result that a digital certificate could state.')
    return blob(new TextEncoder().encode(xml), 'application/xml')
  }),
  thread: os.points.thread.handler(async ({ context, input }) => {
    const thread = await threadFor(context.services, input.session, input.key)
    if (!thread) notFound(`There is nothing to unfold under ${input.key}.`)
    return thread
  }),

  signOffHolds: os.points.signOffHolds.handler(({ context, input }) =>
    context.services.reports
      .ask()
      .signOffHolds(input.session)
      .then(({ refusal, gaps, findings }) => ({ refusal, gaps: [...gaps], findings: [...findings] })),
  ),
  signOff: os.points.signOff.handler(async ({ context, input }) => {
    const { services } = context
    if (services.station.session?.info.id === input.session) {
      refused('The session is still running. A report is signed when its session has ended.')
    }
    if (!services.store.checkCustodian(input.person, input.password)) {
      forbidden('A report is signed by the custodian. Name or password are not right.')
    }
    const { refusal, gaps, findings } = await services.reports.ask().signOffHolds(input.session)
    if (refusal !== null) refused(refusal)
    if (gaps.length > 0 && !input.gapsKnown) {
      refused(
        `The chain to the SI has gaps. ${gaps.join(' ')} Complete the register and take its records into this session, or sign knowing ` +
          'that traceability is not shown in full.',
      )
    }
    if (findings.length > 0 && !input.findingsKnown) {
      refused(
        `Something speaks against the results, or was not checked. ${findings.join(' ')} Decide on each (leave points out, measure again), or ` +
          'sign knowing it.',
      )
    }
    // The signed numbers stay in the file, so that a later proof knows what was signed.
    const report = await services.reports.ask().signed(input.session)
    services.sessions.write(input.session, (file) =>
      file.signOff({
        who: input.person,
        remark: input.remark,
        facts: { report, statements: input.statements },
      }),
    )
    services.store.appendLedger({
      who: input.person,
      what: 'report signed off',
      subject: input.session,
      old: null,
      new: null,
      why: input.remark,
    })
    if (
      services.orders.moveOfSession(input.session, 'signed', {
        who: input.person,
        why: 'report signed off',
      }) > 0
    )
      services.station.touched('orders')
    services.station.touched('points')
    services.station.touched('sessions')
    return {
      words: `Signed off by ${input.person}. The report names the head of the session's chain; a later change makes a new version.`,
    }
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
