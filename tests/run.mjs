// Everything, as CI calls it: what the tests need is installed where it may be, then checks, build and tests,
// and one plain closing line.
import { spawnSync } from 'node:child_process'
import { mkdirSync, readFileSync, rmSync } from 'node:fs'
import { prepareMachine } from './prepare-machine.mjs'

const results = 'test-results/vitest.json'
mkdirSync('test-results', { recursive: true })
rmSync(results, { force: true })

const environment = { ...process.env, ...prepareMachine() }
let failedSteps = 0

for (const step of [
  ['npm', 'run', '--silent', 'check'],
  ['npm', 'run', '--silent', 'build'],
  [
    'vitest',
    'run',
    '--reporter=default',
    '--reporter=json',
    '--reporter=./tests/second-go.ts',
    `--outputFile.json=${results}`,
    ...process.argv.slice(2),
  ],
]) {
  const started = performance.now()
  console.log(`\n> ${step.join(' ')}`)
  const { status } = spawnSync(step[0], step.slice(1), {
    stdio: 'inherit',
    env: environment,
    shell: process.platform === 'win32',
  })
  console.log(
    `> ${status === 0 ? 'passed' : 'FAILED'} in ${((performance.now() - started) / 1000).toFixed(1)} s`,
  )
  if (status !== 0) failedSteps += 1
}

let counts = {
  numPassedTests: 0,
  numFailedTests: 0,
  numPendingTests: 0,
  numFailedTestSuites: 0,
  testResults: [],
}
try {
  counts = JSON.parse(readFileSync(results, 'utf8'))
} catch {
  console.log('The test runner left no results.')
}
const suitesThatNeverRan = counts.testResults.filter(
  (suite) => suite.status === 'failed' && suite.assertionResults.length === 0,
).length
const failed = Math.max(counts.numFailedTests + suitesThatNeverRan, failedSteps > 0 ? 1 : 0)
const skipped = counts.numPendingTests
console.log(`\n${counts.numPassedTests} passed, ${failed} failed${skipped > 0 ? `, ${skipped} skipped` : ''}`)
process.exitCode = failed > 0 ? 1 : 0
