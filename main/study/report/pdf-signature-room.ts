import { DEFAULT_BYTE_RANGE_PLACEHOLDER, SIG_FLAGS, SUBFILTER_ETSI_CADES_DETACHED } from '@signpdf/utils'

/** Who will sign a PDF, and when it was signed off: what its signature field says. */
export interface SignatureRoom {
  readonly who: string
  readonly utcUs: number
  readonly laboratory: string
}

/** Bytes of a signature: a chain of certificates and a time stamp have room. */
const SIGNATURE_BYTES = 16_384

/** Where the box of the signature stands: page from 1, left and top from the page's corner, width and height, in points. */
export interface BoxPlace {
  readonly page: number
  readonly left: number
  readonly top: number
  readonly width: number
  readonly height: number
}

interface Reference {
  readonly data: Record<string, unknown>
  end(): void
}

/** What is needed of the library's document, which its types leave out. */
export interface PdfKitDocument {
  ref(data: Record<string, unknown>): Reference
  switchToPage(n: number): {
    readonly dictionary: Reference
    readonly annotations: Reference[]
    readonly height: number
  }
  initForm(): void
  readonly _root: Reference
}

/**
 * Adds a signature field with room for a detached CMS signature to a document that is still open: the box that a reader of
 * PDF files shows, and the dictionary whose bytes are filled in when the file is signed.
 *
 * Source: ISO 32000-2:2020, 12.7.5.5 and 12.8.1; SubFilter of ETSI EN 319 142-1, 6.2 (numbers of the clauses from memory).
 */
export function addSignatureRoom(doc: PdfKitDocument, room: SignatureRoom, place: BoxPlace): void {
  const page = doc.switchToPage(place.page - 1)
  const literal = (text: string) => Object(text) as string
  const signature = doc.ref({
    Type: 'Sig',
    Filter: 'Adobe.PPKLite',
    SubFilter: SUBFILTER_ETSI_CADES_DETACHED,
    ByteRange: [
      0,
      DEFAULT_BYTE_RANGE_PLACEHOLDER,
      DEFAULT_BYTE_RANGE_PLACEHOLDER,
      DEFAULT_BYTE_RANGE_PLACEHOLDER,
    ],
    Contents: Buffer.alloc(SIGNATURE_BYTES),
    Name: literal(room.who),
    Location: literal(room.laboratory),
    // The day of the sign-off: the same session gives the same bytes, and the stamp says when it was signed.
    M: new Date(Math.floor(room.utcUs / 1000)),
  })
  const top = page.height - place.top
  const widget = doc.ref({
    Type: 'Annot',
    Subtype: 'Widget',
    FT: 'Sig',
    F: PRINT_AND_LOCKED,
    Rect: [place.left, top - place.height, place.left + place.width, top],
    V: signature,
    T: literal('Signature'),
    P: page.dictionary,
  })
  page.annotations.push(widget)
  doc.initForm()
  const { data } = doc._root.data.AcroForm as Reference
  delete data.NeedAppearances
  data.SigFlags = SIG_FLAGS.SIGNATURES_EXIST | SIG_FLAGS.APPEND_ONLY
  data.Fields = [widget]
  for (const reference of [signature, widget]) reference.end()
}

const PRINT_AND_LOCKED = 4 + 128
