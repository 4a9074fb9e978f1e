import { setImmediate as turn } from 'node:timers/promises'
import { type CheckResult, type Publication, runCheck } from '../../../app/validation/publication.ts'
import { PUBLISHED } from '../../../app/validation/published.ts'
import type { ValidationRecord } from '../../../app/validation/record.ts'
import { nightChecks, runLabNight } from './night.ts'
import { installedProgram } from './program.ts'

/** Which laboratory in a box the night is of; the same for everybody, so that records can be compared. */
export const NIGHT_SEED = 1

/** Part of the whole that the published checks take; the night takes the rest. */
const PUBLISHED_SHARE = 0.55

const NOT_CHECKED = [
  'Instruments, links and the wiring of this laboratory: they are checked with its own bridge, resistor and fixed-point checks, and by comparison with an independent evaluation.',
  'What people enter: calibrations, budgets and limits are taken as they stand in the register.',
  'The operating system, its clock and the disk beyond what a night shows.',
]

const utc = () => new Date().toISOString()

/** Told before each step: what is being looked at, and the part of the whole that is done. */
export type OnProgress = (done: number, words: string) => void

function* counted(publications: readonly Publication[]) {
  const total = publications.reduce((sum, { checks }) => sum + checks.length, 0)
  let done = 0
  for (const publication of publications)
    for (const check of publication.checks) yield { publication, check, share: done++ / total }
}

/**
 * Runs every published check and one night of the lab in a box on the program as it is installed, and says what was found. A
 * night that does not come to its end is a check that has not passed.
 */
export async function validateProgram(onProgress: OnProgress, seed = NIGHT_SEED): Promise<ValidationRecord> {
  const startedUtc = utc()
  onProgress(0, 'Hashing the files of the program')
  const program = await installedProgram()
  const checks: CheckResult[] = []
  for (const { publication, check, share } of counted(PUBLISHED)) {
    onProgress(share * PUBLISHED_SHARE, `${publication.id}: ${check.title}`)
    checks.push(runCheck(publication, check))
    await turn()
  }
  const night = await nightResults(seed, (share) =>
    onProgress(PUBLISHED_SHARE + share * (1 - PUBLISHED_SHARE), 'A night of the lab in a box'),
  )
  checks.push(...night.results)
  const passed = checks.every((check) => check.passed)
  onProgress(1, passed ? 'Passed' : 'Failed')
  return {
    kind: 'stillpoint-validation',
    form: 1,
    startedUtc,
    endedUtc: utc(),
    program,
    seed,
    sources: [...PUBLISHED, night.publication].map(({ id, source, standing, notChecked }) => ({
      ...{ id, source, standing, notChecked },
    })),
    checks,
    notChecked: NOT_CHECKED,
    verdict: passed ? 'passed' : 'failed',
  }
}

async function nightResults(
  seed: number,
  onShare: (share: number) => void,
): Promise<{ publication: Publication; results: CheckResult[] }> {
  try {
    const publication = nightChecks(await runLabNight(seed, { onProgress: onShare }), seed)
    return { publication, results: publication.checks.map((check) => runCheck(publication, check)) }
  } catch (fault) {
    const publication: Publication = {
      id: 'lab-night',
      source: `A night of the lab in a box, seed ${seed}.`,
      standing: 'The truth is the simulator’s own.',
      notChecked: [],
      checks: [],
    }
    const words = fault instanceof Error ? fault.message : String(fault)
    return {
      publication,
      results: [
        {
          publication: publication.id,
          title: 'the night runs to its end',
          figures: [],
          fault: words,
          passed: false,
        },
      ],
    }
  }
}
