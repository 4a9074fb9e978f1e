import { needed } from '../base/lists.ts'
import type { Analysis } from '../results/analysis.ts'
import type { ChannelRecord } from '../results/analysis-channel.ts'

export type LinkUse =
  | 'reference-thermometer'
  | 'reference-resistor'
  | 'ratio-bridge'
  | 'meter'
  | 'fixed-point-cell'

/** One link of the chain to the SI: what was used, and the calibration it rests on; null where the record does not say. */
export interface TraceLink {
  readonly use: LinkUse
  readonly name: string
  readonly serial: string
  readonly certificate: string | null
  readonly laboratory: string | null
  /** Who accredits the laboratory that issued it, or its right as a national metrology institute (CMC). */
  readonly accreditation: string | null
  readonly date: string | null
  readonly due: string | null
  /** Date of the laboratory's own check of a ratio bridge, which needs no value from elsewhere; null where there is none. */
  readonly checked: string | null
}

const stated = (text: string | undefined): string | null => text?.trim() || null

type Paper = Partial<Record<'certificate' | 'laboratory' | 'accreditation' | 'due', string | undefined>> & {
  readonly date?: string | undefined
}

/** A link from an entry and the paper it rests on. */
export const linkOf = (
  use: LinkUse,
  { name, serial }: { name: string; serial: string },
  paper: Paper,
  checked: string | null = null,
): TraceLink => ({
  use,
  name,
  serial,
  certificate: stated(paper.certificate),
  laboratory: stated(paper.laboratory),
  accreditation: stated(paper.accreditation),
  date: stated(paper.date),
  due: stated(paper.due),
  checked,
})

function linksOfRecord({ resistor, instrument }: ChannelRecord, date: string): TraceLink[] {
  const links: TraceLink[] = []
  if (resistor) links.push(linkOf('reference-resistor', resistor.record, resistor.calibration))
  if (instrument) {
    const use = instrument.role === 'ratio-bridge' ? 'ratio-bridge' : 'meter'
    const checks = (instrument.checks ?? []).filter((c) => c.date <= date && c.agrees).map((c) => c.date)
    const checked = use === 'ratio-bridge' ? (checks.toSorted().at(-1) ?? null) : null
    links.push(linkOf(use, instrument, { ...instrument, date: instrument.calibrated }, checked))
  }
  return links
}

/** The links through which the results of one thermometer, or of all, lead to the SI; each once. */
export function traceLinks(analysis: Analysis, items: readonly ChannelRecord[]): TraceLink[] {
  const { references, date } = analysis
  const own = references.map(({ record }) => record)
  const links = [
    ...own.map(({ thermometer, calibration }) =>
      linkOf('reference-thermometer', thermometer, needed(calibration, 'calibration')),
    ),
    ...[...own, ...items].flatMap((record) => linksOfRecord(record, date)),
  ]
  const seen = new Set<string>()
  return links.filter((link) => {
    const key = JSON.stringify(link)
    return !seen.has(key) && seen.add(key)
  })
}

/** What a link lacks: number of the certificate, who issued it, who accredits them. */
export function lackOf(link: TraceLink): ('certificate' | 'laboratory' | 'accreditation')[] {
  if (link.checked !== null) return []
  return (['certificate', 'laboratory', 'accreditation'] as const).filter((part) => link[part] === null)
}

const LACK_WORDS = {
  certificate: 'the number of its certificate',
  laboratory: 'who issued the certificate',
  accreditation: 'who accredits the laboratory that issued it',
} as const

/** The gaps of a chain, a sentence each; none where every link is whole. */
export function missingLinks(links: readonly TraceLink[]): string[] {
  return links.flatMap((link) => {
    const lack = lackOf(link)
    return lack.length === 0
      ? []
      : [`${link.name}: the register does not state ${lack.map((part) => LACK_WORDS[part]).join(', ')}.`]
  })
}
