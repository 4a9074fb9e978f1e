import { z } from 'zod'
import { last as lastOf } from '../base/lists.ts'
import { utcDay } from '../base/times.ts'
import type { Thread } from '../contract/studies.ts'
import { FITS } from '../kinds/kind.ts'
import type { Analysis } from '../results/analysis.ts'
import { BudgetTemplate } from '../results/uncertainty-template.ts'
import type { Block } from './blocks.ts'
import { conditionsSection, headSection, methodSection, recordTitle, signSection } from './content-admin.ts'
import { sourcesAnnex } from './content-budget.ts'
import { checksSection } from './content-checks.ts'
import { equipmentSection } from './content-equipment.ts'
import { methodsCompared } from './content-methods.ts'
import { thermometerSection } from './content-thermometer.ts'
import type { ReportContent, ReportItem, ReportOptions } from './content-types.ts'
import { NumberBook } from './numbers.ts'

export type { ReportContent, ReportOptions } from './content-types.ts'

const REPORT_SCHEMA = 'stillpoint-report/1'

/** What another program, or `prove`, needs of a stored report. */
export const StoredReport = z.looseObject({
  schema: z.literal(REPORT_SCHEMA),
  status: z.enum(['draft', 'signed']),
  number: z.string(),
  version: z.int().positive(),
  session: z.string(),
  decimalSign: z.enum(['.', ',']),
  settings: z.looseObject({
    coverageProbability: z.number(),
    interpolationStepK: z.number(),
    monteCarloTrials: z.int(),
    polynomialDegree: z.int(),
    /** Absent in reports of before the class was agreed with the customer. */
    judging: z.enum(['as-asked', 'narrowest']).default('narrowest'),
    models: z.record(z.string(), z.enum(FITS)),
    templates: z.array(BudgetTemplate),
  }),
  numbers: z.record(
    z.string(),
    z.strictObject({
      name: z.string(),
      value: z.string(),
      unit: z.string(),
      uncertainty: z.string().nullable(),
      k: z.string().nullable(),
      exact: z.number(),
    }),
  ),
})

export type StoredReport = z.output<typeof StoredReport>

/** Number of the report: the job's, else the session's; the version stands beside it on every page. */
export function reportNumber(analysis: Analysis): string {
  return analysis.decisions.setup.job?.number ?? analysis.input.info.id
}

/**
 * The report of a comparison as ISO/IEC 17025:2017, 7.8, lists its contents. A draft until a named person signs it off;
 * each amendment since makes a new version that names what it replaces and why.
 */
export function buildReport(analysis: Analysis, options: Partial<ReportOptions> = {}): ReportContent {
  const { decisions, input, options: choices } = analysis
  const { setup, versions, signOff } = decisions
  const { info } = input
  const number = reportNumber(analysis)
  const last = lastOf(versions)
  const { version } = last
  const used = analysis.input.points
  const end = info.endedUtcUs ?? used.at(-1)?.endUtcUs ?? info.startedUtcUs
  const items = analysis.thermometers.map(
    ({ record: { channel, thermometer } }): ReportItem => ({
      channel: channel.id,
      description: thermometer.name,
      maker: thermometer.maker,
      model: thermometer.model,
      serial: thermometer.serial,
      id: thermometer.id,
    }),
  )
  const book = new NumberBook()
  const frame = {
    number,
    version,
    signed: signOff !== null,
    replaces:
      version > 1
        ? { number, version: version - 1, why: last.changes.map((c) => `${c.what}: ${c.why}`).join('; ') }
        : null,
    decimalSign: options.decimalSign ?? '.',
  } as const
  const blocks: Block[] = [
    ...headSection(analysis, frame, items),
    ...methodSection(analysis, book),
    ...conditionsSection(analysis, book),
    ...equipmentSection(analysis, book),
    ...analysis.thermometers.flatMap((result) => thermometerSection(result, analysis, book)),
    ...checksSection(analysis, book, options),
    ...sourcesAnnex(analysis.thermometers),
    ...signSection(analysis, frame),
  ]
  return {
    schema: REPORT_SCHEMA,
    status: frame.signed ? 'signed' : 'draft',
    title: `${recordTitle(setup)}${frame.signed ? '' : ' (draft)'}`,
    number,
    version,
    replaces: frame.replaces,
    session: info.id,
    laboratory: {
      name: setup.laboratory.name,
      address: setup.laboratory.address,
      country: setup.laboratory.country,
      logo: setup.laboratory.logo ?? null,
      accreditation: setup.laboratory.accreditation ?? null,
    },
    customer: setup.job ? { name: setup.job.customer, address: setup.job.customerAddress } : null,
    items,
    dates: {
      received: setup.job?.received ?? null,
      from: utcDay(info.startedUtcUs),
      to: utcDay(end),
      issued: signOff ? utcDay(signOff.utcUs) : null,
    },
    operator: info.operator,
    authorisedBy: signOff?.who ?? null,
    program: { name: info.program, version: info.programVersion },
    coverageProbability: choices.coverageProbability,
    settings: choices,
    decimalSign: frame.decimalSign,
    twoMethods: analysis.thermometers.flatMap((t) => methodsCompared(t) ?? []),
    numbers: book.entries,
    blocks,
  }
}

/**
 * The report as the text of results.json, each number with its thread where threads are given: formula, inputs, readings. Keys stand in a fixed
 * order; the text ends with one line end.
 */
export function reportJson(report: ReportContent, threads?: Readonly<Record<string, Thread>>): string {
  return `${JSON.stringify({ ...report, ...(threads && { threads }) }, null, 1)}\n`
}
