import type { SignerStatements } from '../../app/records/certificate.ts'

/** A signer who has nothing to state and says so. */
export const NOTHING_TO_STATE: SignerStatements = {
  deviations: null,
  externalProviders: null,
  adjustment: null,
  opinions: null,
  customerSupplied: null,
}
