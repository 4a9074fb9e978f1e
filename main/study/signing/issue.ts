import type { Stamp } from './cms.ts'
import type { SigningKey } from './key.ts'
import { signPdf } from './pdf-signature.ts'
import { SigningError } from './signing-error.ts'
import { signXml } from './xml-signature.ts'

/** A key that is open, and where stamps come from. */
export interface Signing {
  readonly key: SigningKey
  readonly stamp?: Stamp
}

/** What is signed stays signed: a stamp that is refused from here on is one to ask for again. */
export function oncePastRefusals({ key, stamp }: Signing): Signing {
  if (!stamp) return { key }
  return {
    key,
    stamp: async (data) => {
      try {
        return await stamp(data)
      } catch (fault) {
        if (fault instanceof SigningError) return null
        throw fault
      }
    },
  }
}

/** One certificate as it leaves the laboratory. */
export interface IssuedFile {
  readonly name: string
  readonly data: Uint8Array
  /** Whether a stamp was asked for and was not to be had. */
  readonly waits: boolean
}

/** What prints the parts of one certificate. */
export interface Printing {
  readonly file: string
  pdf(): Promise<Uint8Array>
  /** null: there is nothing a digital certificate could state. */
  xml(pdf: Uint8Array): Promise<string | null>
}

/** Signs the PDF of a certificate, puts it into its XML and signs that. */
export async function issueFiles(
  { file, pdf, xml }: Printing,
  { key, stamp }: Signing,
  utcUs: number,
): Promise<IssuedFile[]> {
  let missed = false
  const asked = stamp
    ? async (data: Uint8Array) => {
        const token = await stamp(data)
        missed ||= token === null
        return token
      }
    : undefined
  const taken = (name: string, data: Uint8Array): IssuedFile => {
    const waits = missed
    missed = false
    return { name, data, waits }
  }
  const signedPdf = await signPdf(await pdf(), key, asked)
  const files = [taken(`${file}.pdf`, signedPdf)]
  const text = await xml(signedPdf)
  if (text !== null) {
    const signed = await signXml(text, key, utcUs, asked)
    files.push(taken(`${file}.xml`, new TextEncoder().encode(signed)))
  }
  return files
}
