import { fitViews } from '../../../app/comparison/analysis-view.ts'
import { buildReport, reportJson } from '../../../app/report/content.ts'
import { reportDcc } from '../../../app/report/dcc.ts'
import { reportHtml } from '../../../app/report/html.ts'
import { signedNumbers } from '../../../app/report/proof.ts'
import { reportPdf } from '../../station/report/pdf.ts'
import type { Services } from '../services.ts'
import { threadFor } from '../threads.ts'
import { blob, forbidden, notFound, os, refused } from './base.ts'

function reportOf(services: Services, session: string) {
  return buildReport(services.sessions.analysis(session), { decimalSign: services.settings().decimalSign })
}

export const pointRoutes = {
  list: os.points.list.handler(({ context, input }) =>
    context.services.sessions.read(input.session).points(),
  ),
  fits: os.points.fits.handler(({ context, input }) =>
    fitViews(context.services.sessions.analysis(input.session)),
  ),
  report: os.points.report.handler(
    ({ context, input }) =>
      JSON.parse(reportJson(reportOf(context.services, input.session))) as Record<string, unknown>,
  ),
  reportHtml: os.points.reportHtml.handler(({ context, input }) =>
    reportHtml(reportOf(context.services, input.session)),
  ),
  reportPdf: os.points.reportPdf.handler(async ({ context, input }) =>
    blob(
      new Uint8Array(await reportPdf(reportOf(context.services, input.session), input.paper)),
      'application/pdf',
    ),
  ),
  reportXml: os.points.reportXml.handler(({ context, input }) =>
    reportDcc(context.services.sessions.analysis(input.session), reportOf(context.services, input.session)),
  ),
  thread: os.points.thread.handler(({ context, input }) => {
    const thread = threadFor(context.services, input.session, input.key)
    if (!thread) notFound(`There is nothing to unfold under ${input.key}.`)
    return thread
  }),

  signOff: os.points.signOff.handler(({ context, input }) => {
    const { services } = context
    if (services.station.session?.info.id === input.session) {
      refused('The session is still running. A report is signed when its session has ended.')
    }
    if (!services.store.checkCustodian(input.person, input.password)) {
      forbidden('A report is signed by the custodian. Name or password are not right.')
    }
    // The signed numbers stay in the file, so that a later proof knows what was signed.
    const report = signedNumbers(reportOf(services, input.session))
    services.sessions.write(input.session, (file) =>
      file.signOff({ who: input.person, remark: input.remark, facts: { report } }),
    )
    services.store.appendLedger({
      who: input.person,
      what: 'report signed off',
      subject: input.session,
      old: null,
      new: null,
      why: input.remark,
    })
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
        data: { act: 'leave-out', point, ...(channel !== undefined && { channel }), why, restore },
      },
    ])
    context.services.station.touched('points')
    return { words: restore ? 'It counts again.' : 'It is left out of the fits. Nothing is deleted.' }
  }),
}
