import { createHash } from 'node:crypto'
import { existsSync, mkdirSync, readdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'

export type Range = readonly [start: number, end: number, ran: 0 | 1]

/** What one test file ran of the product: for each file, and each process or thread that loaded it, V8's ranges. */
export interface Ran {
  readonly test: string
  /** What the test and the product's files held then, by their path. */
  readonly held: Record<string, string>
  readonly files: Record<string, (readonly Range[])[]>
}

/** A test file, and how long it takes. */
export interface Timed {
  readonly test: string
  readonly seconds: number
}

/** What a run of some tests takes, of those that passed. */
export type Run = (tests: readonly string[]) => readonly Timed[]

export const digest = (text: string): string => createHash('sha256').update(text).digest('hex').slice(0, 16)

/** Which tests ran a place of the product, and what each takes; of tests that pass with nothing changed. */
export class Covered {
  readonly #ran = new Map<
    string,
    { test: string; held: string; processes: readonly (readonly Range[])[] }[]
  >()
  readonly #seconds: ReadonlyMap<string, number>
  readonly #now: (file: string) => string

  /** now: what a file of the product holds now; a file that was changed since counts as run wherever it was loaded. */
  constructor(
    ran: readonly Ran[],
    seconds: ReadonlyMap<string, number>,
    now: (file: string) => string = () => '',
  ) {
    this.#seconds = seconds
    this.#now = now
    for (const { test, held, files } of ran)
      if (seconds.has(test))
        for (const [file, processes] of Object.entries(files)) {
          const one = { test, held: held[file] ?? '', processes }
          const known = this.#ran.get(file)
          if (known) known.push(one)
          else this.#ran.set(file, [one])
        }
  }

  /** Kept in a folder; tests that are new or changed since are run, and write there. */
  static of(root: string, folder: string, tests: readonly string[], run: Run): Covered {
    const texts = new Map<string, string>()
    const now = (file: string): string => {
      const path = join(root, file)
      const known = texts.get(file) ?? (existsSync(path) ? digest(readFileSync(path, 'utf8')) : '')
      texts.set(file, known)
      return known
    }
    const read = () =>
      readdirSync(folder)
        .filter((name) => name.endsWith('.ran'))
        .map((name) => JSON.parse(readFileSync(join(folder, name), 'utf8')) as Ran)
    mkdirSync(folder, { recursive: true })
    const times = join(folder, 'seconds.json')
    const seconds = new Map<string, number>(
      existsSync(times) ? (JSON.parse(readFileSync(times, 'utf8')) as [string, number][]) : [],
    )
    const fresh = new Set(read().flatMap(({ test, held }) => (held[test] === now(test) ? [test] : [])))
    const stale = tests.filter((test) => !fresh.has(test))
    if (stale.length > 0) {
      for (const test of stale) seconds.delete(test)
      for (const timed of run(stale)) seconds.set(timed.test, timed.seconds)
      writeFileSync(`${times}.new`, JSON.stringify([...seconds]))
      renameSync(`${times}.new`, times)
    }
    return new Covered(read(), seconds, now)
  }

  /** The tests that ran the character at this place of a file, in no order. */
  at(file: string, place: number): Timed[] {
    return (this.#ran.get(file) ?? []).flatMap(({ test, held, processes }) =>
      (held !== this.#now(file) ? loaded(processes) : processes.some((ranges) => ranAt(ranges, place)))
        ? [this.timed(test)]
        : [],
    )
  }

  timed(test: string): Timed {
    return { test, seconds: this.#seconds.get(test) ?? Number.POSITIVE_INFINITY }
  }
}

const loaded = (processes: readonly (readonly Range[])[]): boolean =>
  processes.some((ranges) => ranges.some(([, , ran]) => ran === 1))

/** Whether the innermost range around a place was run. */
function ranAt(ranges: readonly Range[], place: number): boolean {
  const inner = ranges
    .filter(([start, end]) => start <= place && place < end)
    .sort(([a, b], [c, d]) => b - a - (d - c))[0]
  return inner?.[2] === 1
}
