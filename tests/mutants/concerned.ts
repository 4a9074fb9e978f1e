import { existsSync, readFileSync } from 'node:fs'
import { dirname, join, normalize } from 'node:path'

const IMPORT = /(?:from|import\()\s*'(\.[^']+)'/g

/** Which tests reach a file through their imports, and over how many steps. */
export class Concerned {
  readonly #root: string
  readonly #imports = new Map<string, readonly string[]>()
  /** For each test: the files it reaches, with the number of steps. */
  readonly #reach: { test: string; steps: ReadonlyMap<string, number> }[]

  constructor(root: string, tests: readonly string[]) {
    this.#root = root
    this.#reach = tests.map((test) => ({ test, steps: this.#from(test) }))
  }

  /** The tests of a file, those of its own name first, then the nearest, at last those that run a whole night. */
  of(file: string): string[] {
    const own = `tests/${file.replace(/^main\//, '').replace(/\.ts$/, '')}`
    const rank = (test: string, steps: number) =>
      (test.startsWith(own) ? -10 : 0) +
      steps +
      (/tests\/(station|host|faults|soak|browser|desktop)\//.test(test) ? 5 : 0)
    return this.#reach
      .flatMap(({ test, steps }) => {
        const far = steps.get(file)
        return far === undefined ? [] : [{ test, rank: rank(test, far) }]
      })
      .sort((a, b) => a.rank - b.rank || a.test.localeCompare(b.test))
      .map(({ test }) => test)
  }

  #from(test: string): Map<string, number> {
    const steps = new Map([[test, 0]])
    const queue = [test]
    for (let file = queue.shift(); file !== undefined; file = queue.shift())
      for (const next of this.#of(file))
        if (!steps.has(next)) {
          steps.set(next, steps.get(file)! + 1)
          queue.push(next)
        }
    return steps
  }

  #of(file: string): readonly string[] {
    const known = this.#imports.get(file)
    if (known) return known
    const path = join(this.#root, file)
    const found = existsSync(path)
      ? [...readFileSync(path, 'utf8').matchAll(IMPORT)].map(([, to]) => normalize(join(dirname(file), to!)))
      : []
    this.#imports.set(file, found)
    return found
  }
}
