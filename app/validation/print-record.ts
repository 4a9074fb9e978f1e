import { first } from '../base/lists.ts'
import { counted } from '../base/plural.ts'
import type { Block } from '../report/blocks.ts'
import type { Printable } from '../report/printable.ts'
import type { Figure } from './figures.ts'
import type { CheckResult } from './publication.ts'
import { countFigures, type KeptValidation, type ValidationRecord } from './record.ts'

/** What stands on paper where nobody has accepted yet: a line to fill in. */
const LINE = '_'.repeat(40)

const part = (path: string) => first(path.split('/'))

/** The figure of a check that comes nearest to its limit; the first where all have to be the same. */
function nearest(figures: readonly Figure[]): Figure | undefined {
  let found = figures[0]
  for (const figure of figures)
    if (!figure.within || (found?.within && (figure.share ?? 0) > (found.share ?? 0))) {
      found = figure
      if (!figure.within) return figure
    }
  return found
}

/** Numbers on paper have at most twelve digits, lists their beginning; the record as JSON has all of it. */
function brief(text: string, unit: string): string {
  const long = text.length > 13
  const number = long && text.trim() !== '' && Number.isFinite(Number(text))
  const own = number
    ? String(Number(Number(text).toPrecision(12)))
    : long
      ? `${text.slice(0, 24)}\u2026`
      : text
  return unit ? `${own} ${unit}` : own
}

const FIGURE_COLUMNS = [
  { head: 'Figure', align: 'left' },
  { head: 'Expected', align: 'right' },
  { head: 'Got', align: 'right' },
  { head: 'Difference', align: 'right' },
  { head: 'Limit', align: 'right' },
] as const

const figureRow = ({ what, expected, got, unit, difference, limit }: Figure) => [
  what,
  brief(expected, unit),
  brief(got, unit),
  difference || 'none',
  limit,
]

function failures(checks: readonly CheckResult[]): Block[] {
  return checks
    .filter(({ passed }) => !passed)
    .map(({ publication, title, fault, figures }) => ({
      kind: 'table' as const,
      caption: `${publication}: ${title}`,
      columns: FIGURE_COLUMNS,
      rows: figures.filter(({ within }) => !within).map(figureRow),
      note: fault === null ? 'Figures beyond their limits.' : `The check ended with a fault: ${fault}`,
    }))
}

function ofSource(record: ValidationRecord, source: ValidationRecord['sources'][number]): Block[] {
  const checks = record.checks.filter(({ publication }) => publication === source.id)
  return [
    { kind: 'heading', level: 2, text: source.id },
    { kind: 'text', text: source.source },
    { kind: 'text', text: `Standing of the figures: ${source.standing}`, style: 'small' },
    {
      kind: 'table',
      caption: '',
      columns: [{ head: 'Check', align: 'left' }, ...FIGURE_COLUMNS],
      rows: checks.map((check) => {
        const figure = nearest(check.figures)
        const title = check.figures.length > 1 ? `${check.title} (1 of ${check.figures.length})` : check.title
        return [
          check.passed ? title : `NOT PASSED: ${title}`,
          ...(figure ? figureRow(figure) : ['no figure', '', '', '', '']),
        ]
      }),
      note: 'Of each check the figure that comes nearest to its limit. All figures with all their digits stand in the record as JSON.',
    },
    ...(source.notChecked.length > 0
      ? ([
          { kind: 'text', text: 'Not checked:' },
          { kind: 'list', items: source.notChecked },
        ] as Block[])
      : []),
  ]
}

function program({ program: p, startedUtc, endedUtc, seed }: ValidationRecord, sha256: string): Block[] {
  const groups = Map.groupBy(p.files, ({ path }) => part(path))
  return [
    { kind: 'heading', level: 2, text: 'What was validated' },
    {
      kind: 'facts',
      rows: [
        { label: 'Program', cells: [`${p.name} ${p.version}`] },
        { label: 'Fingerprint', cells: [p.fingerprint] },
        {
          label: 'Files',
          cells: [
            `${counted(p.files.length, 'file')}: ${[...groups].map(([name, files]) => `${name} ${files.length}`).join(', ')}`,
          ],
        },
        {
          label: 'Packages',
          cells: [p.packages.length === 0 ? 'inside the program' : String(p.packages.length)],
        },
        {
          label: 'Runtime',
          cells: [
            Object.entries(p.runtime)
              .map(([name, version]) => `${name} ${version}`)
              .join(', '),
          ],
        },
        { label: 'System', cells: [`${p.platform}, ${p.processor}`] },
        { label: 'Run', cells: [`${startedUtc} to ${endedUtc}`] },
        { label: 'Night of the lab in a box', cells: [`seed ${seed}`] },
        { label: 'SHA-256 of the record as JSON', cells: [sha256] },
      ],
    },
  ]
}

const acceptance = (accepted: KeptValidation['accepted']): Block[] => [
  { kind: 'heading', level: 2, text: 'Acceptance' },
  {
    kind: 'text',
    text: 'This record says how the program computes. Whether it is fit for an intended use is decided by the laboratory (ISO/IEC 17025:2017, 7.11.2; number of the clause from memory).',
  },
  {
    kind: 'facts',
    rows: [
      { label: 'Accepted by', cells: [accepted?.who ?? LINE] },
      { label: 'For the intended use', cells: [accepted?.use ?? LINE] },
      {
        label: 'Date',
        cells: [accepted ? new Date(accepted.utcUs / 1000).toISOString().slice(0, 10) : LINE],
      },
    ],
  },
]

/** The record of a validation as page and paper print it. */
export function printableValidation(
  record: ValidationRecord,
  sha256: string,
  accepted?: KeptValidation['accepted'],
): Printable {
  const failed = record.checks.filter(({ passed }) => !passed).length
  const { name, version } = record.program
  const date = record.endedUtc.slice(0, 10)
  const verdict =
    failed === 0
      ? `Passed: ${counted(record.checks.length, 'check')} with ${counted(countFigures(record.checks), 'figure')}, all within their limits.`
      : `Failed: ${counted(failed, 'check')} of ${record.checks.length} did not pass. Do not use this program for results until it is known why.`
  const title = `Validation of ${name} ${version}`
  return {
    numbers: {},
    decimalSign: '.',
    blocks: [
      { kind: 'heading', level: 1, text: title },
      { kind: 'text', text: verdict, style: 'statement' },
      ...failures(record.checks),
      ...acceptance(accepted),
      ...program(record, sha256),
      { kind: 'heading', level: 2, text: 'What was not checked' },
      { kind: 'list', items: record.notChecked },
      ...record.sources.flatMap((source) => ofSource(record, source)),
    ],
    running: `${title}, ${date}`,
    language: 'en',
    status: 'signed',
    logo: null,
    author: name,
    subject: record.program.fingerprint,
    creator: `${name} ${version}`,
    date,
    draftWord: '',
    footer: failed === 0 ? 'Passed' : 'Failed',
    pageWords: (page, pages) => `Page ${page} of ${pages}`,
  }
}
