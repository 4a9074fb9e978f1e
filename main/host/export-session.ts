import { writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { buildReport, reportJson } from '../../app/report/content.ts'
import { reportDcc } from '../../app/report/dcc.ts'
import { reportHtml } from '../../app/report/html.ts'
import { embeddedFonts } from '../station/report/fonts.ts'
import { reportPdf } from '../station/report/pdf.ts'
import { EXPORT_FORMATS, type ExportFormat } from '../store/export/export.ts'
import type { Services } from './services.ts'

export type WindowFormat = ExportFormat | 'json' | 'dcc' | 'html' | 'pdf'

function isReadings(format: WindowFormat): format is ExportFormat {
  return (EXPORT_FORMATS as readonly string[]).includes(format)
}

/** Writes a session, or the report of it, in one format into a folder; returns the file's path. */
export async function exportOf(
  services: Services,
  session: string,
  format: WindowFormat,
  folder: string,
): Promise<string> {
  const out = join(folder, `${session}.${format}`)
  if (isReadings(format)) {
    await services.reader.export(services.store.sessionPath(session), { format, out })
    return out
  }
  const analysis = services.sessions.analysis(session)
  const { decimalSign, paper } = services.settings()
  const report = buildReport(analysis, { decimalSign })
  const texts: Record<Exclude<WindowFormat, ExportFormat>, () => string | Promise<Uint8Array>> = {
    json: () => reportJson(report),
    dcc: () => reportDcc(analysis, report),
    html: () => reportHtml(report, { fontCss: embeddedFonts() }),
    pdf: () => reportPdf(report, paper),
  }
  await writeFile(out, await texts[format]())
  return out
}
