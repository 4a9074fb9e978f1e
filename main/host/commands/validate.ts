import { relative, resolve } from 'node:path'
import { Presets, SingleBar } from 'cli-progress'
import { Command } from 'commander'
import { counted } from '../../../app/base/plural.ts'
import { countFigures, type ValidationRecord } from '../../../app/validation/record.ts'
import { wholeNumber } from '../options.ts'
import { NIGHT_SEED, type OnProgress, validateProgram } from '../validation/run.ts'
import { writeRecord } from '../validation/write-record.ts'

const HELP = `Every published figure that the program is held against is computed by the program as it is installed here, and one night
of the lab in a box is run and held against what only the lab knows. The record says what was installed, each check with its
source, what was expected, got and allowed, and what was not checked; it has a line for who accepts it and for which use.
The exit status is 0 only where everything has passed.`

export function validateCommand(): Command {
  return new Command('validate')
    .requiredOption('--out <folder>', 'where the record goes, as PDF, HTML and JSON')
    .option('--seed <n>', 'which night of the lab in a box', wholeNumber(0, 2 ** 31), NIGHT_SEED)
    .addHelpText('after', `\n${HELP}`)
    .action(validate)
}

async function validate({ out, seed }: { out: string; seed: number }): Promise<void> {
  const folder = resolve(out)
  const told = teller()
  const record = await validateProgram(told.progress, seed)
  told.end()
  const files = await writeRecord(record, folder)
  for (const line of summary(record)) console.log(line)
  console.log(`\nRecord in ${relative(process.cwd(), folder) || '.'}:`)
  for (const file of files) console.log(`  ${relative(folder, file)}`)
  if (record.verdict !== 'passed') process.exitCode = 1
}

/** A bar on a terminal; a line for each source elsewhere. */
function teller(): { progress: OnProgress; end(): void } {
  if (!process.stdout.isTTY) {
    let last = ''
    const progress: OnProgress = (_, words) => {
      const [source = ''] = words.split(':')
      if (source !== last) console.log(source)
      last = source
    }
    return { progress, end: () => {} }
  }
  const bar = new SingleBar(
    { format: '{bar} {percentage}%  {words}', hideCursor: true, barsize: 24, linewrap: false },
    Presets.shades_classic,
  )
  bar.start(1000, 0, { words: '' })
  return {
    progress: (done, words) => bar.update(Math.round(done * 1000), { words: words.slice(0, 80) }),
    end: () => bar.stop(),
  }
}

function summary({ checks, program, verdict }: ValidationRecord): string[] {
  const failed = checks.filter(({ passed }) => !passed)
  const lines = failed.flatMap(({ publication, title, fault, figures }) => [
    `not passed: ${publication}: ${title}`,
    ...(fault === null ? [] : [`  ${fault}`]),
    ...figures
      .filter(({ within }) => !within)
      .slice(0, 3)
      .map(
        (f) =>
          `  ${f.what}: expected ${f.expected}, got ${f.got} ${f.unit}, difference ${f.difference || 'none allowed'}, limit ${f.limit}`,
      ),
  ])
  const all = `${counted(checks.length, 'check')} with ${counted(countFigures(checks), 'figure')}`
  return [
    '',
    ...lines,
    verdict === 'passed'
      ? `${program.name} ${program.version} passed: ${all}.`
      : `${program.name} ${program.version} FAILED: ${failed.length} of ${all}.`,
  ]
}
