import { FixedPointsRequest } from '../../contract/check-request.ts'
import type { Settings } from '../../contract/settings.ts'
import type { Cell } from '../../records/cell.ts'
import { inForce, type Resistor, type Thermometer } from '../../records/register.ts'
import { ComparisonError } from '../../results/uncertainty-error.ts'
import type { Block } from '../blocks.ts'
import type { NumberBook } from '../numbers.ts'
import { linkOf, type TraceLink } from '../traceability.ts'
import type { Spoken } from './build.ts'
import type { CertificateMatter } from './certificate.ts'
import { fixedPointBlocks } from './fixed-points.ts'
import { endBlocks, headBlocks, traceabilityBlocks } from './head.ts'
import { resistorBlocks } from './resistor.ts'
import { speaker } from './speaker.ts'

/** What a certificate of the laboratory's own register is made from. */
export interface RegisterWork {
  readonly laboratory: Settings['laboratory']
  readonly decimalSign: '.' | ','
  readonly program: { readonly name: string; readonly version: string }
  /** Who recorded the work. */
  readonly who: string
  readonly thermometers: readonly Thermometer[]
  readonly resistors: readonly Resistor[]
  readonly cells: readonly Cell[]
}

const COVERAGE = 0.9545

interface Part {
  readonly date: string
  readonly number: string
  readonly item: CertificateMatter['item']
  readonly owner: string
  readonly links: readonly TraceLink[]
  readonly matter: { readonly blocks: Block[]; readonly book: NumberBook }
  readonly remarks: readonly string[]
}

function spoken(work: RegisterWork, part: Part): Spoken {
  const { laboratory, decimalSign, program, who } = work
  const say = speaker(['en'])
  const matter: CertificateMatter = {
    // What the register holds is signed by nobody yet: a draft, under the number that was given to it.
    issue: { number: part.number || null, version: 1, signedOff: null, replaces: null },
    laboratory: {
      name: laboratory.name,
      address: laboratory.address,
      country: laboratory.country,
      logo: laboratory.logo ?? null,
      accreditation: laboratory.accreditation ?? null,
      procedure: laboratory.procedure ?? null,
    },
    customer: part.owner && part.owner !== laboratory.name ? { name: part.owner, address: [] } : null,
    order: null,
    item: part.item,
    received: null,
    condition: [],
    from: part.date,
    to: part.date,
    calibratedBy: who,
    program,
    coverageProbability: COVERAGE,
    links: part.links,
  }
  const blocks = [
    ...headBlocks(say, matter),
    ...part.matter.blocks,
    ...traceabilityBlocks(say, matter),
    ...endBlocks(say, matter, part.remarks),
  ]
  return {
    certificate: { matter, languages: ['en'], decimalSign, numbers: part.matter.book.entries, blocks },
    say,
  }
}

const missing = (words: string) => new ComparisonError('bad-input', words)

/**
 * The certificate of a thermometer's calibration at fixed points, with everything it was made of. Throws ComparisonError
 * 'bad-input' where the register has no such calibration, or one that was not made of plateaus here.
 */
export function fixedPointCertificate(
  work: RegisterWork,
  thermometer: string,
  entry: string | undefined,
): Spoken {
  const own = work.thermometers.find(({ id }) => id === thermometer)
  if (!own) throw missing(`There is no thermometer "${thermometer}" in the register.`)
  const made = own.calibrations.filter(
    (c) => c.fixedPoints !== undefined && (entry === undefined || c.id === entry),
  )
  const calibration = inForce(made, '9999-12-31')
  if (!calibration) {
    throw missing(
      `${own.name} has no calibration that was made of plateaus here${entry === undefined ? '' : ` under "${entry}"`}. Record its fixed points first.`,
    )
  }
  const request = FixedPointsRequest.parse({ check: 'fixed-points', ...calibration.fixedPoints })
  const used = new Set(request.plateaus.map(({ cell }) => cell))
  const cells = work.cells.filter(({ id }) => used.has(id))
  return spoken(work, {
    date: calibration.date,
    number: calibration.certificate,
    owner: own.owner,
    item: {
      kind: `kind.${own.kind}`,
      element: own.construction ? `element.${own.construction}` : null,
      name: own.name,
      maker: own.maker,
      model: own.model,
      serial: own.serial,
      id: own.id,
    },
    links: cells.map((cell) => linkOf('fixed-point-cell', cell, { ...cell, date: cell.calibrated })),
    matter: fixedPointBlocks({ calibration, request, cells }),
    remarks: calibration.note === undefined ? [] : [calibration.note],
  })
}

/** The certificate of a resistor's comparison with a better one. Throws ComparisonError 'bad-input' where there is none. */
export function resistorCertificate(work: RegisterWork, resistor: string, entry: string | undefined): Spoken {
  const own = work.resistors.find(({ id }) => id === resistor)
  if (!own) throw missing(`There is no resistor "${resistor}" in the register.`)
  const compared = inForce(
    (own.comparisons ?? []).filter((c) => entry === undefined || c.id === entry),
    '9999-12-31',
  )
  if (!compared) throw missing(`${own.name} has no comparison of its own yet. Record one first.`)
  const calibration = own.calibrations.find(({ id }) => id === compared.calibration)
  const better = work.resistors.find(({ id }) => id === compared.against)
  const standard = better && inForce(better.calibrations, compared.date)
  return spoken(work, {
    date: compared.date,
    number: calibration?.certificate ?? '',
    owner: '',
    item: {
      kind: 'kind.resistor',
      element: null,
      name: own.name,
      maker: own.maker,
      model: '',
      serial: own.serial,
      id: own.id,
    },
    links: better && standard ? [linkOf('reference-resistor', better, standard)] : [],
    matter: resistorBlocks({ resistor: own, compared, calibration, better }),
    remarks: compared.note === undefined ? [] : [compared.note],
  })
}
