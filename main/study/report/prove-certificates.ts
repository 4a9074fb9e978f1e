import { createHash } from 'node:crypto'
import { existsSync, readdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { needed } from '../../../app/base/lists.ts'
import type { Analysis } from '../../../app/results/analysis.ts'
import { withoutSignature } from '../signing/pdf-signature.ts'
import { verifyPdf, verifyXml } from '../signing/verify.ts'
import { withoutXmlSignature } from '../signing/xml-signature.ts'
import { CERTIFICATE_FOLDER, certificatePdf, certificatesOf, certificateXml } from './certificates.ts'
import type { Paper } from './pdf.ts'

/** A file of a results folder that was printed again. */
export interface ProvedFile {
  readonly name: string
  /** SHA-256 of the file and of what the session gives. */
  readonly stored: string
  readonly computed: string
}

const digest = (data: string | Uint8Array): string => createHash('sha256').update(data).digest('hex')

const PAPERS: readonly Paper[] = ['A4', 'Letter']

/**
 * Prints the certificates beside a report again and compares: a file without a signature byte for byte; in a signed one what
 * the signature is of. A file of no item of the session differs from what the session gives, which is nothing.
 */
export async function proveCertificates(analysis: Analysis, folder: string): Promise<ProvedFile[]> {
  if (!existsSync(folder)) return []
  const names = readdirSync(folder).filter((name) => /\.(pdf|xml)$/.test(name))
  const items = certificatesOf(analysis)
  const proved: ProvedFile[] = []
  for (const name of names.toSorted()) {
    const file = path.join(folder, name)
    const item = items.find((one) => one.file === name.replace(/\.(pdf|xml)$/, ''))
    const stored = readFileSync(file)
    const pdf = file.replace(/\.xml$/, '.pdf')
    const again = item
      ? name.endsWith('.pdf')
        ? await Promise.all(PAPERS.map((paper) => certificatePdf(item, paper)))
        : [certificateXml(item, analysis, existsSync(pdf) ? readFileSync(pdf) : null) ?? '']
      : ['']
    const bare = name.endsWith('.pdf')
      ? withoutSignature(stored)
      : withoutXmlSignature(stored.toString('utf8'))
    const same = again.find((data) => digest(data) === digest(bare))
    const { state } = name.endsWith('.pdf')
      ? await verifyPdf(stored, [], 0)
      : await verifyXml(stored.toString('utf8'), [], 0)
    const holds = same !== undefined && state !== 'broken'
    proved.push({
      name: `${CERTIFICATE_FOLDER}/${name}`,
      stored: digest(stored),
      // What is under a signature that holds is the file as it was printed.
      computed: holds ? digest(stored) : digest(needed<string | Uint8Array>(again[0], 'print')),
    })
  }
  return proved
}
