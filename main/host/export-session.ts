import { writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { EXPORT_FORMATS, type ExportFormat } from '../store/export/export.ts'
import type { Services } from './services.ts'

export type WindowFormat = ExportFormat | 'json' | 'html' | 'pdf'

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
  const suffix = format === 'csv-semicolon' ? 'csv' : format === 'sqlite-table' ? 'sqlite' : format
  const out = join(folder, `${session}.${suffix}`)
  if (isReadings(format)) {
    await services.reader.long().export(services.store.sessionPath(session), { format, out })
    return out
  }
  const reports = services.reports.ask()
  const texts: Record<Exclude<WindowFormat, ExportFormat>, () => Promise<string | Uint8Array>> = {
    json: () => reports.json(session),
    html: () => reports.html(session, true),
    pdf: () => reports.pdf(session, services.settings().paper),
  }
  await writeFile(out, await texts[format]())
  return out
}
