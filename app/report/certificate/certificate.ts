import type { SignedOff } from '../../results/analysis-input.ts'
import type { Block, ReportNumber } from '../blocks.ts'
import type { TraceLink } from '../traceability.ts'
import type { Language, MessageKey } from './speaker.ts'

/** The version of a certificate that is issued, or the draft of it. */
export interface Issue {
  /** From the laboratory's series; null: a draft that has none yet. */
  readonly number: string | null
  readonly version: number
  readonly signedOff: SignedOff | null
  readonly replaces: {
    readonly number: string
    readonly version: number
    readonly date: string
    readonly why: string
  } | null
}

/** What every certificate says, whatever was calibrated: who, for whom, which item, when, and through which chain. */
export interface CertificateMatter {
  readonly issue: Issue
  readonly laboratory: {
    readonly name: string
    readonly address: readonly string[]
    readonly country: string
    readonly logo: string | null
    readonly accreditation: string | null
    readonly procedure: string | null
  }
  /** null: work for the laboratory itself. */
  readonly customer: { readonly name: string; readonly address: readonly string[] } | null
  readonly order: string | null
  readonly item: {
    readonly kind: MessageKey
    readonly element: MessageKey | null
    readonly name: string
    readonly maker: string
    readonly model: string
    readonly serial: string
    /** Under which the laboratory's register has it: for a program, not for paper. */
    readonly id: string
  }
  readonly received: string | null
  readonly condition: readonly string[]
  readonly from: string
  readonly to: string
  readonly calibratedBy: string
  readonly program: { readonly name: string; readonly version: string }
  readonly coverageProbability: number
  readonly links: readonly TraceLink[]
}

/** A certificate of one item as data: what PDF, page and XML print of it. */
export interface Certificate {
  readonly matter: CertificateMatter
  readonly languages: readonly Language[]
  readonly decimalSign: '.' | ','
  readonly numbers: Readonly<Record<string, ReportNumber>>
  readonly blocks: readonly Block[]
}

/** Number and version as they name a certificate for ever; a draft says that it is one. */
export function certificateName({ issue, item }: CertificateMatter): string {
  const name = issue.number === null ? item.serial || item.id : `${issue.number}, version ${issue.version}`
  return issue.signedOff ? name : `draft ${name}`
}

/** A certificate's number as part of a file's name. */
export const fileNumber = (number: string): string => number.replace(/[^\p{L}\p{N}._-]+/gu, '-')

/** Number and version as part of a file's name. */
export function certificateFile({ issue, item }: CertificateMatter): string {
  const name = issue.number === null ? item.serial || item.id : `${issue.number}-v${issue.version}`
  return fileNumber(issue.signedOff ? name : `draft-${name}`)
}
