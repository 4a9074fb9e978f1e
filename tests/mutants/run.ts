import { spawn, spawnSync } from 'node:child_process'
import { existsSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, relative } from 'node:path'
import { fileURLToPath } from 'node:url'
import { Command } from 'commander'
import { Compiler } from './compiler.ts'
import { Concerned } from './concerned.ts'
import { Covered, digest, type Timed } from './covered.ts'
import { isSame } from './same.ts'
import { changed, type Site, sitesOf } from './sites.ts'
import { type Tried, tablesOf, words } from './table.ts'

/** Changes the product at random, one place at a time, and sees whether a test notices. */

const ROOT = fileURLToPath(new URL('../../', import.meta.url))
const KEPT = join(ROOT, 'node_modules/.cache/mutants')
const ROOMS = ['app', 'drivers', 'main/station', 'main/store']
/** What runs one after the other until a test notices: most changes fall to the first few seconds. */
const TURNS_S = [5, 30]
/** A step between a test and a file counts as much as this: the nearer asks closer questions, and is worth waiting for. */
const STEP_S = 10
/** The published figures hold every formula, however far they stand. */
const PUBLISHED = 'tests/published/'
/** Time of a test, and of one that ran out of it once, when it is tried again. */
const LIMIT_MS = 20_000
const PATIENT_MS = 90_000

interface Mutant {
  readonly file: string
  readonly line: number
  readonly site: Site
  /** Its file, what was done and the text of the line: the same as long as these are. */
  readonly name: string
}

type Outcome = Tried['by']

interface Verdict extends Mutant {
  readonly by: Outcome
  /** How many test files were there to ask. */
  readonly tests: number
}

const git = (...args: string[]): string[] =>
  spawnSync('git', args, { cwd: ROOT, encoding: 'utf8', maxBuffer: 1 << 26 })
    .stdout.split('\n')
    .filter(Boolean)

const options = new Command()
  .name('mutants')
  .requiredOption('--n <count>', 'how many changes', Number)
  .requiredOption('--seed <number>', 'which ones', Number)
  .option('--under <folder>', 'only in files of this folder')
  .option('--workers <count>', 'how many at a time', Number, 2)
  .option(
    '--most <s>',
    'test files tried for one change, by the time they take, before it counts as unnoticed',
    Number,
    300,
  )
  .option('--out <file>', 'a table of the result as Markdown')
  .parse()
  .opts<{
    n: number
    seed: number
    under?: string
    workers: number
    most: number
    out?: string
  }>()

/** Every place gets its lot from the seed and its own words, so that a change elsewhere does not draw anew. */
function draw(): Mutant[] {
  const files = git('ls-files', '--', ...(options.under ? [options.under] : ROOMS)).filter(
    (file) => file.endsWith('.ts') && !file.endsWith('.d.ts'),
  )
  const seen = new Map<string, number>()
  const drawn = files.flatMap((file) => {
    const text = readFileSync(join(ROOT, file), 'utf8')
    const lines = text.split('\n')
    return sitesOf(text, file).flatMap((site) => {
      const line = text.slice(0, site.start).split('\n').length
      const name = `${file} ${site.what}: ${lines[line - 1]!.trim()}`
      if (isSame({ file, what: site.what, line: lines[line - 1]! })) return []
      const nth = (seen.get(name) ?? 0) + 1
      seen.set(name, nth)
      return [{ file, line, site, name: `${name} ${nth}` }]
    })
  })
  const lot = ({ name }: Mutant) => digest(`${options.seed} ${name}`)
  return drawn
    .map((mutant) => [lot(mutant), mutant] as const)
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .slice(0, options.n)
    .map(([, mutant]) => mutant)
}

/** A copy of the checkout's own files to change, beside the installed packages of this one. */
function workplace(): string {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-mutants-'))
  spawnSync('git', ['worktree', 'add', '--detach', '--force', folder, 'HEAD'], { cwd: ROOT })
  symlinkSync(join(ROOT, 'node_modules'), join(folder, 'node_modules'))
  return folder
}

/** What a run of tests said: that all passed, or which file failed first; null where it was ended from outside or broke. */
interface Run {
  readonly passed: boolean
  readonly failed: string | null
  /** It failed by its time limit alone, which a busy machine can do as well. */
  readonly late: boolean
}

interface Report {
  testResults: {
    name: string
    status: string
    startTime: number
    endTime: number
    assertionResults: { failureMessages?: string[] }[]
  }[]
}

function failureIn(report: string, folder: string): Pick<Run, 'failed' | 'late'> {
  if (!existsSync(report)) return { failed: null, late: false }
  const { testResults } = JSON.parse(readFileSync(report, 'utf8')) as Report
  const file = testResults.find(({ status }) => status === 'failed')
  if (!file) return { failed: null, late: false }
  const messages = file.assertionResults.flatMap(({ failureMessages }) => failureMessages ?? [])
  return {
    failed: relative(folder, file.name),
    late: messages.length > 0 && messages.every((message) => /timed out|Timed out/.test(message)),
  }
}

const secondsOf = (tests: readonly Timed[]) => tests.reduce((sum, { seconds }) => sum + seconds, 0)

function run(folder: string, tests: readonly Timed[], testMs = LIMIT_MS): Promise<Run> {
  const limitMs = 1000 * (30 + 8 * secondsOf(tests)) + testMs
  const report = join(folder, 'mutants-report.json')
  rmSync(report, { force: true })
  const child = spawn(
    process.execPath,
    [
      join(ROOT, 'node_modules/vitest/vitest.mjs'),
      'run',
      '--bail=1',
      '--retry=0',
      '--maxWorkers=1',
      '--reporter=json',
      `--outputFile=${report}`,
      `--testTimeout=${testMs}`,
      ...tests.map(({ test }) => test),
    ],
    {
      cwd: folder,
      stdio: 'ignore',
      detached: process.platform !== 'win32',
      env: { ...process.env, CI: 'true' },
    },
  )
  return new Promise((resolve) => {
    const timer = setTimeout(() => {
      try {
        process.kill(-child.pid!, 'SIGKILL')
      } catch {
        child.kill('SIGKILL')
      }
    }, limitMs)
    child.on('exit', (code) => {
      clearTimeout(timer)
      resolve({
        passed: code === 0,
        ...(code === 0 ? { failed: null, late: false } : failureIn(report, folder)),
      })
    })
  })
}

/** Which test noticed a change the last time: the first to be asked the next time. */
const NOTICED = join(KEPT, 'noticed.json')
const noticed = new Map<string, string>(
  existsSync(NOTICED) ? (JSON.parse(readFileSync(NOTICED, 'utf8')) as [string, string][]) : [],
)

/** Tests seen to fail with nothing changed, beside others: they notice nothing. */
const unsound = new Set<string>()
const seenSound = new Set<string>()

/** The tests that ran the place, nearest and quickest first; of a place that only other processes run, those that reach its file. */
function testsOf({ file, site, name }: Mutant, concerned: Concerned, covered: Covered): Timed[] {
  const steps = concerned.of(file)
  const ran = covered.at(file, site.start)
  const all = ran.length > 0 ? ran : [...steps.keys()].map((test) => covered.timed(test))
  const before = noticed.get(name)
  const rank = ({ test, seconds }: Timed) =>
    test === before
      ? Number.NEGATIVE_INFINITY
      : seconds + STEP_S * (test.startsWith(PUBLISHED) ? 1 : (steps.get(test) ?? 5))
  const sorted = all
    .filter(({ test, seconds }) => Number.isFinite(seconds) && !unsound.has(test))
    .sort((a, b) => rank(a) - rank(b) || a.test.localeCompare(b.test))
  return sorted.filter((_, index) => secondsOf(sorted.slice(0, index + 1)) <= options.most)
}

/** Cut into turns, of a few seconds each at first. */
function turnsOf(tests: readonly Timed[]): Timed[][] {
  const turns: Timed[][] = [[]]
  for (const test of tests) {
    const turn = turns.at(-1)!
    const most = TURNS_S[turns.length - 1] ?? Number.POSITIVE_INFINITY
    if (turn.length > 0 && secondsOf(turn) + test.seconds > most) turns.push([test])
    else turn.push(test)
  }
  return turns.filter((turn) => turn.length > 0)
}

/** The test that notices the change in the folder; one that fails in the folder as it was does not count. */
async function notice(
  folder: string,
  tests: readonly Timed[],
  put: (mutated: boolean) => void,
): Promise<string | null> {
  for (let some = tests; some.length > 0; ) {
    put(true)
    const { passed, failed, late } = await run(folder, some)
    if (passed) return null
    if (failed === null) return some[0]!.test
    const alone = some.filter(({ test }) => test === failed)
    const others = some.filter(({ test }) => test !== failed)
    if (late && (await run(folder, alone, PATIENT_MS)).passed) {
      some = others
      continue
    }
    if (seenSound.has(failed)) return failed
    put(false)
    if ((await run(folder, alone)).passed) {
      seenSound.add(failed)
      return failed
    }
    unsound.add(failed)
    some = others
  }
  return null
}

async function judge(
  folder: string,
  mutant: Mutant,
  tests: readonly Timed[],
  compiler: Compiler,
): Promise<Verdict> {
  const path = join(folder, mutant.file)
  const text = readFileSync(path, 'utf8')
  const mutated = changed(text, mutant.site)
  if (!compiler.allows(mutant.file, mutated)) return { ...mutant, by: 'compiler', tests: 0 }
  const put = (now: boolean) => writeFileSync(path, now ? mutated : text)
  try {
    for (const turn of turnsOf(tests)) {
      const test = await notice(folder, turn, put)
      if (test === null) continue
      noticed.set(mutant.name, test)
      return { ...mutant, by: 'test', tests: tests.length }
    }
    return { ...mutant, by: 'unnoticed', tests: tests.length }
  } finally {
    put(false)
  }
}

/** One run of the tests with V8's counts beside it; kept for each test until it is changed. */
function coverageOf(tests: readonly string[]): Covered {
  const folder = join(KEPT, 'coverage')
  return Covered.of(ROOT, folder, tests, (stale) => {
    console.log(`Which tests run what: ${stale.length} test files run once; kept for the next time.`)
    const report = join(folder, 'report.json')
    rmSync(report, { force: true })
    spawnSync(
      process.execPath,
      [
        join(ROOT, 'node_modules/vitest/vitest.mjs'),
        'run',
        `--config=${join(ROOT, 'tests/mutants/coverage.config.ts')}`,
        '--reporter=json',
        `--outputFile=${report}`,
        ...stale,
      ],
      { cwd: ROOT, stdio: 'ignore', env: { ...process.env, CI: 'true', STILLPOINT_COVERAGE: folder } },
    )
    const { testResults } = JSON.parse(readFileSync(report, 'utf8')) as Report
    return testResults
      .filter(({ status }) => status === 'passed')
      .map(({ name, startTime, endTime }) => ({
        test: relative(ROOT, name),
        seconds: (endTime - startTime) / 1000,
      }))
  })
}

const SAID: Record<Outcome, string> = {
  compiler: 'refused ',
  test: 'killed  ',
  unnoticed: 'SURVIVED',
}

async function main(): Promise<void> {
  const mutants = draw()
  const tests = git('ls-files', '--', 'tests').filter(
    (file) =>
      file.endsWith('.test.ts') && !/^tests\/(browser|desktop|house|renderer|soak|bench)\//.test(file),
  )
  const concerned = new Concerned(ROOT, tests)
  const covered = coverageOf(tests)
  const compiler = new Compiler(ROOT)
  const verdicts: Verdict[] = []
  const waiting = [...mutants]
  const folders = Array.from({ length: options.workers }, workplace)
  try {
    await Promise.all(
      folders.map(async (folder) => {
        for (let mutant = waiting.shift(); mutant; mutant = waiting.shift()) {
          const verdict = await judge(folder, mutant, testsOf(mutant, concerned, covered), compiler)
          verdicts.push(verdict)
          writeFileSync(NOTICED, JSON.stringify([...noticed]))
          console.log(`${SAID[verdict.by]} ${words({ ...verdict, what: verdict.site.what })}`)
        }
      }),
    )
  } finally {
    for (const folder of folders) {
      spawnSync('git', ['worktree', 'remove', '--force', folder], { cwd: ROOT })
      rmSync(folder, { recursive: true, force: true })
    }
  }
  const tried = verdicts.map(({ site, ...verdict }) => ({ ...verdict, what: site.what }))
  const survivors = tried.filter(({ by }) => by === 'unnoticed')
  if (options.out) writeFileSync(options.out, tablesOf(options.seed, tried))
  console.log('\nSurvivors:')
  for (const survivor of survivors) console.log(`  ${words(survivor)} (${survivor.tests} test files ran)`)
  console.log(`killed ${verdicts.length - survivors.length} of ${verdicts.length}`)
}

await main()
