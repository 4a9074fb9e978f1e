import { execFileSync } from 'node:child_process'
import { writeFileSync } from 'node:fs'
import { HOSTILE_CASE_NAMES, HOSTILE_CASES, type HostileCase } from '../../../simulator/hostile/cases.ts'
import {
  casesOf,
  type FalseAlarms,
  falseAlarmsOf,
  type HostileRow,
  hostileScore,
  type ScoredRow,
  tableOf,
} from './score.ts'

export interface HostileSoak {
  readonly nights: number
  readonly seed: number
  readonly only: string | undefined
  readonly json: string | undefined
  readonly table: string | undefined
}

/** Most that may be wrong in silence in a hostile case, and results from which on that is judged. */
const MOST_SILENT = 0.05
const ENOUGH = 300
/** What the quiet bath has to hold: share within U, and rms of error over U. */
const WITHIN = { least: 0.93, most: 0.97 }
const RMS = { least: 0.45, most: 0.55 }
/** The same where rectangular parts dominate the budget: those of a thermocouple's meter. */
const RMS_RECTANGULAR = { least: 0.4, most: 0.6 }

/** Hostile nights by the quick lab; writes the rows where asked, and says whether the goals are met. */
export function hostileSoak({ nights, seed, only, json, table }: HostileSoak): boolean {
  const wanted = only?.split(',')
  const cases = HOSTILE_CASE_NAMES.filter((name) => !wanted || wanted.includes(name))
  const from = performance.now()
  const program = commitNow()
  const { rows, falseAlarms } = hostileScore({
    nights,
    seed,
    cases,
    onCase: (found) => {
      for (const line of tableOf(found).slice(found[0]?.case === cases[0] ? 0 : 2)) console.log(line)
    },
  })
  const misses = rows.flatMap(missesOf)
  for (const line of falseAlarmsOf(falseAlarms)) console.log(line)
  const asAsked = rows.map(({ uSilentWrong: _, ...row }): HostileRow => row)
  if (json) writeFileSync(json, `${JSON.stringify(asAsked, null, 2)}\n`)
  if (table) writeFileSync(table, page(rows, falseAlarms, misses, { nights, seed, program }))
  for (const miss of misses) console.log(`NOT HELD ${miss}`)
  console.log(
    `${nights} nights of each of ${cases.length} cases, seed ${seed}, in ${((performance.now() - from) / 1000).toFixed(0)} s; ${misses.length} goals not held`,
  )
  return misses.length === 0
}

/** Goals that a row misses, in words; the quiet bath has its own: one result in twenty lies outside U there, and nothing is to be said. */
export function missesOf(row: HostileRow): string[] {
  const name = `${row.case}, ${row.kind}, ${row.order}`
  if (row.results < ENOUGH) return []
  const misses: string[] = []
  if (row.case !== 'none') {
    if (row.silentWrong > MOST_SILENT)
      misses.push(`${name}: ${(100 * row.silentWrong).toFixed(1)} % wrong and nothing said`)
    return misses
  }
  const rms = row.kind === 'thermocouple' ? RMS_RECTANGULAR : RMS
  if (row.within < WITHIN.least || row.within > WITHIN.most)
    misses.push(`${name}: ${(100 * row.within).toFixed(1)} % within U`)
  if (row.rms < rms.least || row.rms > rms.most) misses.push(`${name}: rms(e/U) ${row.rms.toFixed(2)}`)
  return misses
}

/** The commit whose program runs, and whether anything was changed since. */
function commitNow(): string {
  try {
    return `commit ${execFileSync('git', ['describe', '--always', '--dirty', '--abbrev=7'], { encoding: 'utf8' }).trim()}`
  } catch {
    return 'an unknown commit'
  }
}

function page(
  rows: readonly ScoredRow[],
  falseAlarms: readonly FalseAlarms[],
  misses: readonly string[],
  run: { nights: number; seed: number; program: string },
): string {
  const words = (Object.entries(HOSTILE_CASES) as [HostileCase, string][]).map(
    ([name, about]) => `| ${name} | ${about} |`,
  )
  return `# A hostile laboratory, seed ${run.seed}

Nights of the quick lab (\`simulator/hostile/\`), whose truth is drawn from what the station is *not* told; each is analysed as any
session is and its curves are held against the truth at nine temperatures. Made with one command by the program of ${run.program}:

    npm run soak -- --hostile --nights ${run.nights} --seed ${run.seed} --table docs/hostile-${run.seed}.md

*Flagged*: a finding that holds sign-off concerns the result, or the one check that would have seen the case was left out (one night in
seven leaves one of six out) and the report says so by name. *Silent wrong*: the error is larger than U and nothing was said.
Results of one night hang together: ${run.nights} nights (of the quiet bath ${3 * run.nights}) of each order are a few hundred independent ones for each row at most.
*Its u*: standard uncertainty of the share before it, from the scatter of the nights. In a quiet bath 4.55 % lie outside U by the choice of
k, so that a case which leaves a thermometer alone has a few per cent silent wrong, and a row of it may pass 5 % by its nights' luck.

## Cases

| case | what the station is not told |
|---|---|
${words.join('\n')}

## By case

All kinds of thermometers and orders of reading together. Where a case does nothing to a thermometer, nothing is said of it, and one result
in twenty or fewer lies outside U as in any quiet night: a row of few nights shows the luck of those.

${casesOf(rows).join('\n')}

## What cries out in quiet nights

In the nights of \`none\`, all orders together; each kind of check is set to one night in a hundred.

${falseAlarmsOf(falseAlarms).join('\n')}

## By kind and order

${tableOf(rows).join('\n')}

## Goals not held

${misses.length === 0 ? 'None.' : misses.map((m) => `- ${m}`).join('\n')}
`
}
