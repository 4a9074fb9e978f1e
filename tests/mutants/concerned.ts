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

  /** The tests that reach a file, with the number of steps; those of the file's own name stand at -10. */
  of(file: string): Map<string, number> {
    const own = `tests/${file.replace(/^main\//, '').replace(/\.ts$/, '')}`
    return new Map(
      this.#reach.flatMap(({ test, steps }) => {
        const far = steps.get(file)
        return far === undefined ? [] : [[test, test.startsWith(own) ? -10 : far] as const]
      }),
    )
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
