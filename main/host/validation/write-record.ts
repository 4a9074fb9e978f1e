import { mkdir } from 'node:fs/promises'
import { join } from 'node:path'
import { printHtml } from '../../../app/report/html.ts'
import { printableValidation } from '../../../app/validation/print-record.ts'
import type { KeptValidation, ValidationRecord } from '../../../app/validation/record.ts'
import { writeWhole } from '../../store/write-whole.ts'
import { embeddedFonts } from '../../study/report/fonts.ts'
import { type Paper, printPdf } from '../../study/report/pdf.ts'
import { hashOfRecord } from './record-hash.ts'

/** The record as it is kept and hashed. */
export const recordJson = (record: ValidationRecord): string => `${JSON.stringify(record, null, 1)}\n`

/** With whom a record is printed, and on what. */
export interface RecordPrint {
  readonly accepted?: KeptValidation['accepted']
  readonly paper?: Paper
}

/** The record as HTML and PDF, with who accepted it where somebody has. */
export async function printRecord(
  json: string,
  options: RecordPrint = {},
): Promise<{ html: string; pdf: Uint8Array }> {
  const printable = printableValidation(
    JSON.parse(json) as ValidationRecord,
    hashOfRecord(json),
    options.accepted,
  )
  return {
    html: printHtml(printable, { fontCss: embeddedFonts() }),
    pdf: await printPdf(printable, options.paper),
  }
}

/** Writes the record into a folder, which is made where it does not exist; the names carry version, day and minute. */
export async function writeRecord(record: ValidationRecord, folder: string): Promise<string[]> {
  await mkdir(folder, { recursive: true })
  const minute = record.endedUtc.slice(0, 16).replace(/[-:]/g, '').replace('T', '-')
  const stem = `validation-${record.program.version}-${minute}`
  const json = recordJson(record)
  const { html, pdf } = await printRecord(json)
  const files: [string, string | Uint8Array][] = [
    [`${stem}.json`, json],
    [`${stem}.html`, html],
    [`${stem}.pdf`, pdf],
  ]
  const written: string[] = []
  for (const [name, data] of files) {
    const path = join(folder, name)
    await writeWhole(path, (append) => append(data))
    written.push(path)
  }
  return written
}
