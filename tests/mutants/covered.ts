import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { join, relative } from 'node:path'

export type Range = readonly [start: number, end: number, ran: 0 | 1]

/** What one test file ran of the product: for each file, and each process or thread that loaded it, V8's ranges. */
export interface Ran {
  readonly test: string
  readonly files: Record<string, (readonly Range[])[]>
}

/** A test file, and how long it takes. */
export interface Timed {
  readonly test: string
  readonly seconds: number
}

interface Report {
  readonly testResults: readonly { name: string; status: string; startTime: number; endTime: number }[]
}

/** Which tests ran a place of the product, and what each takes; of tests that pass with nothing changed. */
export class Covered {
  readonly #ran = new Map<string, { test: string; processes: readonly (readonly Range[])[] }[]>()
  readonly #seconds: ReadonlyMap<string, number>

  constructor(ran: readonly Ran[], seconds: ReadonlyMap<string, number>) {
    this.#seconds = seconds
    for (const { test, files } of ran)
      if (seconds.has(test))
        for (const [file, processes] of Object.entries(files)) {
          const known = this.#ran.get(file)
          if (known) known.push({ test, processes })
          else this.#ran.set(file, [{ test, processes }])
        }
  }

  /** Kept in a folder, or made by a run of all tests, which writes there; another checkout of the same commit may have made it. */
  static of(root: string, folder: string, runAll: (folder: string, report: string) => void): Covered {
    const report = join(folder, 'report.json')
    const read = (made: string) => {
      const { testResults } = JSON.parse(readFileSync(report, 'utf8')) as Report
      return new Map(
        testResults
          .filter(({ status }) => status === 'passed')
          .map(({ name, startTime, endTime }) => [relative(made, name), (endTime - startTime) / 1000]),
      )
    }
    const whole = join(folder, 'whole')
    if (!existsSync(whole)) {
      rmSync(folder, { recursive: true, force: true })
      mkdirSync(folder, { recursive: true })
      runAll(folder, report)
      writeFileSync(whole, root)
    }
    const ran = readdirSync(folder)
      .filter((name) => name.endsWith('.ran'))
      .map((name) => JSON.parse(readFileSync(join(folder, name), 'utf8')) as Ran)
    return new Covered(ran, read(readFileSync(whole, 'utf8')))
  }

  /** The tests that ran the character at this place of a file, in no order. */
  at(file: string, place: number): Timed[] {
    return (this.#ran.get(file) ?? []).flatMap(({ test, processes }) =>
      processes.some((ranges) => ranAt(ranges, place)) ? [this.timed(test)] : [],
    )
  }

  timed(test: string): Timed {
    return { test, seconds: this.#seconds.get(test) ?? Number.POSITIVE_INFINITY }
  }
}

/** Whether the innermost range around a place was run. */
function ranAt(ranges: readonly Range[], place: number): boolean {
  const inner = ranges
    .filter(([start, end]) => start <= place && place < end)
    .sort(([a, b], [c, d]) => b - a - (d - c))[0]
  return inner?.[2] === 1
}
