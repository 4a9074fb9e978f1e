export interface DccOptions {
  /** The PDF of the same report, embedded for people to read. */
  readonly pdfBase64?: string
  /** SHA-256 of the version this one replaces, where it is at hand. */
  readonly previousHash?: { readonly identifier: string; readonly sha256: string }
}
