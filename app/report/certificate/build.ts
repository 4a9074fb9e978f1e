import { first, last } from '../../base/lists.ts'
import { utcDay } from '../../base/times.ts'
import { itemOf, wishFor } from '../../records/session.ts'
import type { Analysis, ThermometerResult } from '../../results/analysis.ts'
import { traceLinks } from '../traceability.ts'
import type { Certificate, CertificateMatter, Issue } from './certificate.ts'
import { endBlocks, headBlocks, traceabilityBlocks } from './head.ts'
import { itemNumbers } from './item-numbers.ts'
import { CATALOG, type Catalog, type Language, type Speaker, speaker } from './speaker.ts'
import { methodBlocks, resultBlocks } from './thermometer.ts'

/** Number of an item's certificate: given at the first sign-off, and kept by every version since; null before it. */
const numberOf = ({ decisions }: Analysis, thermometer: string): string | null =>
  decisions.versions.toReversed().find((v) => v.signOff?.numbers[thermometer])?.signOff?.numbers[
    thermometer
  ] ?? null

/** The version of an item's certificate as the session's decisions have it. */
function issueOf(analysis: Analysis, thermometer: string): Issue {
  const { versions, signOff } = analysis.decisions
  const { version, changes } = last(versions)
  const before = versions.at(-2)?.signOff
  const number = numberOf(analysis, thermometer)
  const why = changes.map((c) => `${c.what}: ${c.why}`).join('; ')
  return {
    number,
    version,
    signedOff: signOff,
    replaces:
      version > 1 && before && number !== null
        ? { number, version: version - 1, date: utcDay(before.utcUs), why }
        : null,
  }
}

/** Who, for whom, which item, when: of one thermometer of a comparison. */
function matterOf(analysis: Analysis, { record }: ThermometerResult): CertificateMatter {
  const { decisions, input, options } = analysis
  const { setup } = decisions
  const { laboratory, job } = setup
  const { info } = input
  const { thermometer } = record
  // An item of an order has its own customer; what else was in the bath that night is nobody else's matter.
  const item = itemOf(setup, thermometer.id)
  const order = item
    ? { customer: item.customer, number: item.order, received: item.received, condition: item.condition }
    : job && {
        customer: { name: job.customer, address: job.customerAddress },
        number: job.number,
        received: job.received,
        condition: job.remarks,
      }
  const end = info.endedUtcUs ?? input.points.at(-1)?.endUtcUs ?? info.startedUtcUs
  return {
    issue: issueOf(analysis, thermometer.id),
    laboratory: {
      name: laboratory.name,
      address: laboratory.address,
      country: laboratory.country,
      logo: laboratory.logo ?? null,
      accreditation: laboratory.accreditation ?? null,
      procedure: laboratory.procedure ?? null,
    },
    customer: order?.customer ?? null,
    order: order?.number ?? null,
    item: {
      kind: `kind.${thermometer.kind}`,
      element: thermometer.construction ? `element.${thermometer.construction}` : null,
      name: thermometer.name,
      maker: thermometer.maker,
      model: thermometer.model,
      serial: thermometer.serial,
      id: thermometer.id,
    },
    received: order?.received ?? null,
    condition: order?.condition ?? [],
    from: utcDay(info.startedUtcUs),
    to: utcDay(end),
    calibratedBy: info.operator,
    program: { name: info.program, version: info.programVersion },
    coverageProbability: options.coverageProbability,
    links: traceLinks(analysis, [record]),
  }
}

const DECIMAL_SIGN: Readonly<Record<Language, '.' | ','>> = { en: '.', de: ',', fr: ',', es: ',' }

/** A certificate, and who speaks its languages. */
export interface Spoken {
  readonly certificate: Certificate
  readonly say: Speaker
}

/**
 * The certificate of one thermometer under test, for its customer alone, in the languages that were asked for; `catalog`
 * where other texts than the program's own are wanted.
 */
export function buildCertificate(
  analysis: Analysis,
  result: ThermometerResult,
  catalog: Catalog = CATALOG,
): Spoken {
  const { thermometer } = result.record
  const wish = wishFor(analysis.decisions.setup, thermometer.id)
  const languages = wish?.languages ?? ['en']
  const say = speaker(languages, catalog)
  const matter = matterOf(analysis, result)
  const book = itemNumbers(result, analysis)
  const blocks = [
    ...headBlocks(say, matter),
    ...methodBlocks(say, analysis, result),
    ...traceabilityBlocks(say, matter),
    ...resultBlocks(say, result, analysis, book),
    ...endBlocks(say, matter, []),
  ]
  const decimalSign = wish?.decimalSign ?? DECIMAL_SIGN[first(languages)]
  return { certificate: { matter, languages, decimalSign, numbers: book.entries, blocks }, say }
}
