import { spawnSync } from 'node:child_process'
import { readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'

/** How often each hardship is tried in the long form; the tests have short forms of the same. */
const LONG = {
  STILLPOINT_FLIPS: '2000',
  STILLPOINT_KILLS: '300',
  STILLPOINT_CUTS: '10000',
  STILLPOINT_POSITIONS: '50',
  STILLPOINT_WRITE_ERRORS: '12',
} as const

interface Report {
  testResults: { assertionResults: { title: string; status: string; duration?: number }[] }[]
}

/** The long form of the tests that try to make a session lose something. A line for each; whether all of them held. */
export function tryToLose(): { good: boolean; lines: string[] } {
  const root = fileURLToPath(new URL('../../', import.meta.url))
  const out = join(tmpdir(), `stillpoint-durability-${process.pid}.json`)
  const vitest = join(root, 'node_modules/vitest/vitest.mjs')
  const { status } = spawnSync(
    process.execPath,
    [vitest, 'run', 'tests/faults/store-', '--reporter=json', `--outputFile=${out}`, '--testTimeout=3600000'],
    { cwd: root, env: { ...process.env, ...LONG }, stdio: ['ignore', 'ignore', 'inherit'] },
  )
  try {
    const { testResults } = JSON.parse(readFileSync(out, 'utf8')) as Report
    const lines = testResults
      .flatMap(({ assertionResults }) => assertionResults)
      .map(({ title, status: held, duration = 0 }) => `${held}: ${title} (${(duration / 1000).toFixed(0)} s)`)
    return { good: status === 0 && lines.length > 0, lines }
  } finally {
    rmSync(out, { force: true })
  }
}
