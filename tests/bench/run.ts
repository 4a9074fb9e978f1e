/**
 * Runs the bench: every file beside this one that ends in .bench.ts, or those whose names hold a word given.
 *
 *   npm run bench -- [word ...] [--json]
 *
 * Ratios are taken within one run, since absolute values drift from run to run and machine to machine. A goal that is
 * missed is reported, not failed: nothing here is a timed test.
 */
import { readdirSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import type { Row } from './row.ts'

/** Stations are begun as the program begins them: with what Node has compiled of it before, which each thread reads as well. */
process.env.NODE_COMPILE_CACHE ??= join(import.meta.dirname, '../../node_modules/.cache/compiled')

interface Result {
  readonly file: string
  readonly rows: readonly Row[]
  readonly fault?: string
}

async function run(file: string): Promise<Result> {
  try {
    const { bench } = (await import(new URL(file, import.meta.url).href)) as { bench: () => Promise<Row[]> }
    return { file, rows: await bench() }
  } catch (fault) {
    return { file, rows: [], fault: fault instanceof Error ? (fault.stack ?? fault.message) : String(fault) }
  }
}

function figure(value: number): string {
  if (!Number.isFinite(value)) return '-'
  const size = Math.abs(value)
  if (size >= 1e5 || (size > 0 && size < 1e-3)) return value.toExponential(2)
  return size >= 1000 ? value.toFixed(0) : String(Number(value.toPrecision(3)))
}

function table(rows: readonly Row[]): string {
  const cells = [
    ['measure', 'ours', 'other', 'unit', 'ratio', 'goal', 'met'],
    ...rows.map(({ name, ours, other, unit, ratio, goal, met }) => [
      name,
      figure(ours),
      figure(other),
      unit,
      figure(ratio),
      goal === '' ? '-' : goal,
      met === null ? '-' : met ? 'yes' : 'NO',
    ]),
  ]
  const widths = cells[0]!.map((_, column) => Math.max(...cells.map((row) => row[column]!.length)))
  const lines = cells.map((row) =>
    row
      .map((cell, column) =>
        column === 0 || column === 3 || column > 4
          ? cell.padEnd(widths[column]!)
          : cell.padStart(widths[column]!),
      )
      .join('  ')
      .trimEnd(),
  )
  const notes = rows.flatMap(({ name, note }) => (note === undefined ? [] : [`  ${name}: ${note}`]))
  return [...lines, ...notes].join('\n')
}

const words = process.argv.slice(2).filter((word) => !word.startsWith('-'))
const asJson = process.argv.includes('--json')
const files = readdirSync(fileURLToPath(new URL('.', import.meta.url)))
  .filter((file) => file.endsWith('.bench.ts'))
  .filter((file) => words.length === 0 || words.some((word) => file.includes(word)))
  .sort()

if (files.length === 0) {
  console.error(`bench: no file here has ${words.join(' or ')} in its name.`)
  process.exitCode = 2
}

const results: Result[] = []
for (const file of files) {
  const result = await run(file)
  results.push(result)
  if (asJson) continue
  console.log(`\n${file}`)
  if (result.rows.length > 0) console.log(table(result.rows))
  if (result.fault !== undefined) console.error(`  could not be run: ${result.fault}`)
}
if (asJson) console.log(JSON.stringify(results, null, 2))
else if (files.length > 0) {
  const judged = results.flatMap(({ rows }) => rows).filter(({ met }) => met !== null)
  console.log(`\n${judged.filter(({ met }) => met).length} of ${judged.length} goals met.`)
}
if (results.some(({ fault }) => fault !== undefined)) process.exitCode = 1
process.exit()
