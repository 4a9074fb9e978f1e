import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { CERTIFICATE_FOLDER } from '../study/report/certificates.ts'
import { trialStamp } from '../study/signing/time-stamp.ts'
import { makeTrialAuthority } from '../study/signing/trial-authority.ts'
import { signOffSession } from './issue-certificates.ts'
import type { Services } from './services.ts'

const SIGNER = 'E. Scar'

/**
 * Signs the demo's report off with a key and stamps of an authority made on the spot. Returns what was done, in words, and the
 * authority's root, which whoever tries the files needs.
 */
export async function signDemo(
  services: Services,
  session: string,
): Promise<{ words: string; rootPem: string }> {
  const { clock } = services
  const now = () => clock.now().utcUs
  const authority = await makeTrialAuthority(SIGNER, services.settings().laboratory.name, now())
  const words = await signOffSession(
    services,
    {
      session,
      who: SIGNER,
      remark: '',
      gapsKnown: true,
      findingsKnown: true,
      statements: {
        deviations: null,
        externalProviders: null,
        adjustment: null,
        opinions: null,
        customerSupplied: 'Names of the items, and the construction of industrial elements.',
      },
    },
    { key: authority.signer, stamp: (data) => trialStamp(authority.stamper, data, now()) },
  )
  return { words, rootPem: authority.rootPem }
}

/** Puts the root beside the certificates it is for. Returns where. */
export function writeRoot(out: string, rootPem: string): string {
  const file = join(out, CERTIFICATE_FOLDER, 'trial-root.pem')
  writeFileSync(file, rootPem)
  return file
}
