import { z } from 'zod'
import type { CheckResult, Publication } from './publication.ts'

/** What was installed where a validation ran. */
export interface ProgramFacts {
  readonly name: string
  readonly version: string
  /** Hash of all files and packages: SHA-256 in hexadecimal digits. */
  readonly fingerprint: string
  readonly files: readonly { readonly path: string; readonly sha256: string }[]
  /** Packages that are installed beside the program; none where they are part of its own files. */
  readonly packages: readonly { readonly name: string; readonly version: string }[]
  readonly runtime: Readonly<Record<string, string>>
  readonly platform: string
  readonly processor: string
}

/** The whole record of one validation: what is written as JSON, and what HTML and PDF are printed from. */
export interface ValidationRecord {
  readonly kind: 'stillpoint-validation'
  readonly form: 1
  readonly startedUtc: string
  readonly endedUtc: string
  readonly program: ProgramFacts
  readonly seed: number
  readonly sources: readonly Pick<Publication, 'id' | 'source' | 'standing' | 'notChecked'>[]
  readonly checks: readonly CheckResult[]
  readonly notChecked: readonly string[]
  readonly verdict: 'passed' | 'failed'
}

export const VERDICTS = ['passed', 'failed'] as const

/** A validation as the station keeps it: what a list shows of it, the whole record packed, and who accepted it for which use. */
export const KeptValidation = z.strictObject({
  id: z.string().min(1).max(80),
  utcUs: z.int(),
  version: z.string(),
  fingerprint: z.string().regex(/^[0-9a-f]{64}$/),
  platform: z.string(),
  verdict: z.enum(VERDICTS),
  checks: z.int(),
  figures: z.int(),
  /** Checks that did not pass. */
  failed: z.int(),
  /** Who had it run. */
  who: z.string(),
  /** Hash of the record as JSON. */
  sha256: z.string().regex(/^[0-9a-f]{64}$/),
  /** The record as JSON, gzip, base64. */
  packed: z.string(),
  accepted: z
    .strictObject({
      who: z.string(),
      utcUs: z.int(),
      /** The intended use that it is accepted for, in the words of who accepts. */
      use: z.string().trim().min(1).max(1000),
    })
    .optional(),
})
export type KeptValidation = z.output<typeof KeptValidation>

/** Figures of all checks. */
export const countFigures = (checks: readonly CheckResult[]): number =>
  checks.reduce((sum, { figures }) => sum + figures.length, 0)
