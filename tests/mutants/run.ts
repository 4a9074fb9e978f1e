import { spawn, spawnSync } from 'node:child_process'
import { existsSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, relative } from 'node:path'
import { fileURLToPath } from 'node:url'
import { Command } from 'commander'
import { seededRandom } from '../../app/statistics/random.ts'
import { Concerned } from './concerned.ts'
import { changed, type Site, sitesOf } from './sites.ts'

/** Changes the product at random, one place at a time, and sees whether a test notices. */

const ROOT = fileURLToPath(new URL('../../', import.meta.url))
const ROOMS = ['app', 'drivers', 'main/station', 'main/store']
/** Tests of a file that are run before all others: most changes are noticed here. */
const FIRST = 6
/** Time of a test that ran out of it once, when it is tried again. */
const PATIENT_MS = 180_000

interface Mutant {
  readonly file: string
  readonly line: number
  readonly site: Site
}

interface Verdict extends Mutant {
  readonly killed: boolean
  /** The tests that ran last. */
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
  .option('--most-tests <count>', 'test files tried for one change before it counts as unnoticed', Number, 40)
  .option(
    '--limit <s>',
    'a run of tests longer than this: the change made something go on for ever',
    Number,
    240,
  )
  .option('--out <file>', 'a table of the result as Markdown')
  .parse()
  .opts<{
    n: number
    seed: number
    under?: string
    workers: number
    mostTests: number
    limit: number
    out?: string
  }>()

function draw(): Mutant[] {
  const files = git('ls-files', '--', ...(options.under ? [options.under] : ROOMS)).filter(
    (file) => file.endsWith('.ts') && !file.endsWith('.d.ts'),
  )
  const all = files.flatMap((file) => {
    const text = readFileSync(join(ROOT, file), 'utf8')
    return sitesOf(text, file).map((site) => ({
      file,
      line: text.slice(0, site.start).split('\n').length,
      site,
    }))
  })
  const random = seededRandom(options.seed)
  const drawn: Mutant[] = []
  while (drawn.length < options.n && all.length > 0)
    drawn.push(...all.splice(Math.floor(random.uniform() * all.length), 1))
  return drawn
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
  testResults: { name: string; status: string; assertionResults: { failureMessages?: string[] }[] }[]
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

function run(folder: string, tests: readonly string[], patientMs?: number): Promise<Run> {
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
      ...(patientMs === undefined ? [] : [`--testTimeout=${patientMs}`]),
      ...tests,
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
    }, options.limit * 1000)
    child.on('exit', (code) => {
      clearTimeout(timer)
      resolve({
        passed: code === 0,
        ...(code === 0 ? { failed: null, late: false } : failureIn(report, folder)),
      })
    })
  })
}

/** Tests seen to pass, or not, with nothing changed: one that fails by itself notices nothing. */
const passesUnchanged = new Map<string, boolean>()

async function judge(folder: string, mutant: Mutant, concerned: Concerned): Promise<Verdict> {
  const path = join(folder, mutant.file)
  const text = readFileSync(path, 'utf8')
  const sound = () => concerned.of(mutant.file).filter((test) => passesUnchanged.get(test) !== false)
  const change = () => writeFileSync(path, changed(text, mutant.site))
  const tests = sound().slice(0, options.mostTests)
  try {
    for (let some = tests.slice(0, FIRST), from = FIRST; some.length > 0; ) {
      change()
      const { passed, failed, late } = await run(folder, some)
      if (passed) {
        some = tests.slice(from)
        from = tests.length
        continue
      }
      if (failed !== null && late && (await run(folder, [failed], PATIENT_MS)).passed) {
        some = some.filter((test) => test !== failed)
        continue
      }
      if (failed === null || passesUnchanged.get(failed))
        return { ...mutant, killed: true, tests: some.length }
      writeFileSync(path, text)
      const alone = await run(folder, [failed])
      passesUnchanged.set(failed, alone.passed)
      if (alone.passed) return { ...mutant, killed: true, tests: some.length }
      some = some.filter((test) => test !== failed)
    }
    return { ...mutant, killed: false, tests: tests.length }
  } finally {
    writeFileSync(path, text)
  }
}

const words = ({ file, line, site }: Mutant) => `${file}:${line} ${site.what}`

async function main(): Promise<void> {
  const mutants = draw()
  const tests = git('ls-files', '--', 'tests').filter(
    (file) => file.endsWith('.test.ts') && !/^tests\/(browser|desktop|house)\//.test(file),
  )
  const concerned = new Concerned(ROOT, tests)
  const verdicts: Verdict[] = []
  const waiting = [...mutants]
  const folders = Array.from({ length: options.workers }, workplace)
  try {
    await Promise.all(
      folders.map(async (folder) => {
        for (let mutant = waiting.shift(); mutant; mutant = waiting.shift()) {
          const verdict = await judge(folder, mutant, concerned)
          verdicts.push(verdict)
          console.log(`${verdict.killed ? 'killed  ' : 'SURVIVED'} ${words(verdict)}`)
        }
      }),
    )
  } finally {
    for (const folder of folders) {
      spawnSync('git', ['worktree', 'remove', '--force', folder], { cwd: ROOT })
      rmSync(folder, { recursive: true, force: true })
    }
  }
  const killed = verdicts.filter((verdict) => verdict.killed).length
  const survivors = verdicts
    .filter((verdict) => !verdict.killed)
    .sort((a, b) => words(a).localeCompare(words(b)))
  if (options.out) writeFileSync(options.out, tableOf(verdicts, survivors))
  console.log('\nSurvivors:')
  for (const survivor of survivors) console.log(`  ${words(survivor)} (${survivor.tests} test files ran)`)
  console.log(`killed ${killed} of ${verdicts.length}`)
}

function tableOf(verdicts: readonly Verdict[], survivors: readonly Verdict[]): string {
  const rooms = [...new Set(verdicts.map(({ file }) => file.split('/').slice(0, 2).join('/')))].sort()
  const rows = rooms.map((room) => {
    const own = verdicts.filter(({ file }) => file.startsWith(`${room}/`) || file === room)
    return `| ${room} | ${own.length} | ${own.filter(({ killed }) => killed).length} |`
  })
  return [
    `Changes at random: ${verdicts.length}, seed ${options.seed}.`,
    '',
    '| room | changed | noticed |',
    '|---|---|---|',
    ...rows,
    '',
    'Unnoticed:',
    '',
    ...survivors.map((survivor) => `- ${words(survivor)}`),
    '',
  ].join('\n')
}

await main()
