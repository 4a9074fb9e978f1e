import { FixedPointsRequest, type ReducedPlateau } from '../../contract/check-request.ts'
import type { Settings } from '../../contract/settings.ts'
import { type Said, said } from '../../messages/said.ts'
import type { Cell } from '../../records/cell.ts'
import type { Customer } from '../../records/customer.ts'
import {
  type InstrumentRecord,
  inForce,
  type Resistor,
  type SignedWork,
  type Thermometer,
} from '../../records/register.ts'
import type { SignedOff } from '../../results/analysis-input.ts'
import { ComparisonError } from '../../results/uncertainty-error.ts'
import type { Block } from '../blocks.ts'
import type { NumberBook } from '../numbers.ts'
import { numberAt } from '../numbers.ts'
import { type LinkUse, linkOf, type TraceLink } from '../traceability.ts'
import type { Spoken } from './build.ts'
import type { Certificate, CertificateMatter } from './certificate.ts'
import { type DccContent, type DccOptions, dccDocument } from './dcc-document.ts'
import { fixedPointBlocks } from './fixed-points.ts'
import { endBlocks, headBlocks, traceabilityBlocks } from './head.ts'
import { fixedPointsDcc, resistorDcc } from './register-dcc.ts'
import { resistorBlocks } from './resistor.ts'
import { type Speaker, speaker } from './speaker.ts'

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
  readonly instruments: readonly InstrumentRecord[]
  /** Whose the item is, where the station knows the customer: address of the certificate. */
  readonly customer: Pick<Customer, 'name' | 'address'> | null
}

const COVERAGE = 0.9545

interface Part {
  /** First and last day of the work. */
  readonly from?: string | undefined
  readonly date: string
  readonly number: string
  readonly item: CertificateMatter['item']
  readonly owner: string
  readonly links: readonly TraceLink[]
  readonly signed: SignedWork | undefined
  readonly matter: { readonly blocks: Block[]; readonly book: NumberBook }
  /** What it states for a program. */
  readonly dcc: (say: Speaker, numbers: Certificate['numbers'], probability: string) => DccContent
  readonly remarks: readonly string[]
}

/** A certificate of the register, and its XML. */
export interface RegisterCertificate extends Spoken {
  xml(options?: DccOptions): string
}

function signedOff({ who, utcUs, statements, electronic, number }: SignedWork, id: string): SignedOff {
  return { who, utcUs, remark: '', statements, electronic, numbers: { [id]: number } }
}

function spoken(work: RegisterWork, part: Part): RegisterCertificate {
  const { laboratory, decimalSign, program, who } = work
  const say = speaker(['en'])
  const matter: CertificateMatter = {
    // Until somebody signs it is a draft, under the number that was given to it.
    issue: {
      number: part.signed?.number ?? (part.number || null),
      version: 1,
      signedOff: part.signed ? signedOff(part.signed, part.item.id) : null,
      replaces: null,
    },
    laboratory: {
      name: laboratory.name,
      address: laboratory.address,
      country: laboratory.country,
      logo: laboratory.logo ?? null,
      accreditation: laboratory.accreditation ?? null,
      procedure: laboratory.procedure ?? null,
    },
    customer:
      part.owner && part.owner !== laboratory.name
        ? { name: part.owner, address: work.customer?.address ?? [] }
        : null,
    order: null,
    item: part.item,
    received: null,
    condition: [],
    from: part.from ?? part.date,
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
  const numbers = part.matter.book.entries
  return {
    certificate: { matter, languages: ['en'], decimalSign, numbers, blocks },
    say,
    xml: (options) => dccDocument(say, matter, part.dcc(say, numbers, String(COVERAGE)), options ?? {}),
  }
}

const missing = (why: Said) => new ComparisonError('bad-input', why)

/**
 * The certificate of a thermometer's calibration at fixed points, with everything it was made of. Throws ComparisonError
 * 'bad-input' where the register has no such calibration, or one that was not made of plateaus here.
 */
export function fixedPointCertificate(
  work: RegisterWork,
  thermometer: string,
  entry: string | undefined,
): RegisterCertificate {
  const own = work.thermometers.find(({ id }) => id === thermometer)
  if (!own) throw missing(said('no-such-thermometer', { thermometer }))
  const made = own.calibrations.filter(
    (c) => c.fixedPoints !== undefined && (entry === undefined || c.id === entry),
  )
  const calibration = inForce(made, '9999-12-31')
  if (!calibration) {
    const none = { thermometer: own.name }
    throw missing(
      entry === undefined
        ? said('no-calibration-of-plateaus', none)
        : said('no-calibration-of-plateaus-under', { ...none, entry }),
    )
  }
  const request = FixedPointsRequest.parse({ check: 'fixed-points', ...calibration.fixedPoints })
  const used = new Set(request.plateaus.map(({ cell }) => cell))
  const cells = work.cells.filter(({ id }) => used.has(id))
  const matter = fixedPointBlocks({ calibration, request, cells, currentMa: own.currentMa })
  return spoken(work, {
    signed: calibration.signed,
    from: request.plateaus
      .flatMap(({ utc }) => (utc ? [utc.slice(0, 10)] : []))
      .toSorted()
      .at(0),
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
    links: [
      ...cells.map((cell) => linkOf('fixed-point-cell', cell, { ...cell, date: cell.calibrated })),
      ...unnamedCells(request.plateaus, cells),
      ...electricalLinks(work, request.plateaus, calibration.date),
    ],
    matter,
    dcc: (say, numbers, probability) =>
      fixedPointsDcc(
        say,
        { ...matter, calibration, depthsM: request.plateaus.map(({ depthM }) => depthM) },
        numbers,
        probability,
      ),
    remarks: calibration.note === undefined ? [] : [calibration.note],
  })
}

/** What was used and is not named: a gap of the chain, and said as one. */
const unnamed = (use: LinkUse, name: string): TraceLink => linkOf(use, { name, serial: '' }, {})

/** Fixed points whose cell no plateau of it names, or that the register does not have. */
function unnamedCells(
  plateaus: readonly Pick<ReducedPlateau, 'cell' | 'fixedPoint'>[],
  cells: readonly Cell[],
): TraceLink[] {
  const points = plateaus
    .filter(({ cell }) => !cells.some(({ id }) => id === cell))
    .map(({ fixedPoint }) => (fixedPoint === 'H2O' ? 'WTP' : fixedPoint))
  return [...new Set(points)].map((point) => unnamed('fixed-point-cell', `${point} cell, not named`))
}

/** The resistors and bridges that plateaus were measured with, each with the paper it rests on. */
function electricalLinks(
  work: RegisterWork,
  plateaus: readonly Pick<ReducedPlateau, 'resistor' | 'bridge'>[],
  date: string,
): TraceLink[] {
  const resistors = work.resistors.filter(({ id }) => plateaus.some(({ resistor }) => resistor === id))
  const bridges = work.instruments.filter(({ id }) => plateaus.some(({ bridge }) => bridge === id))
  const lacks = (what: 'resistor' | 'bridge') => plateaus.some((plateau) => plateau[what] === undefined)
  return [
    ...(lacks('resistor') ? [unnamed('reference-resistor', 'not named in every plateau')] : []),
    ...(lacks('bridge') ? [unnamed('ratio-bridge', 'not named in every plateau')] : []),
    ...resistors.map((own) => linkOf('reference-resistor', own, inForce(own.calibrations, date) ?? {})),
    ...bridges.map((own) => {
      const checks = (own.checks ?? []).filter((check) => check.date <= date && check.agrees)
      const checked =
        checks
          .map((check) => check.date)
          .toSorted()
          .at(-1) ?? null
      return linkOf('ratio-bridge', own, { ...own, date: own.calibrated }, checked)
    }),
  ]
}

/** The certificate of a resistor's comparison with a better one. Throws ComparisonError 'bad-input' where there is none. */
export function resistorCertificate(
  work: RegisterWork,
  resistor: string,
  entry: string | undefined,
): RegisterCertificate {
  const own = work.resistors.find(({ id }) => id === resistor)
  if (!own) throw missing(said('no-resistor-in-register', { resistor }))
  const compared = inForce(
    (own.comparisons ?? []).filter((c) => entry === undefined || c.id === entry),
    '9999-12-31',
  )
  if (!compared) throw missing(said('no-comparison-of-its-own', { resistor: own.name }))
  const calibration = own.calibrations.find(({ id }) => id === compared.calibration)
  const better = work.resistors.find(({ id }) => id === compared.against)
  const standard = better && inForce(better.calibrations, compared.date)
  const matter = resistorBlocks({ resistor: own, compared, calibration, better })
  return spoken(work, {
    signed: compared.signed,
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
    matter,
    dcc: (say, numbers, probability) =>
      resistorDcc(say, own.keptAtC, numberAt(numbers, 'resistance'), probability),
    remarks: compared.note === undefined ? [] : [compared.note],
  })
}
