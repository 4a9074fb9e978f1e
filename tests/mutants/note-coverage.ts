import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { type Profiler, Session } from 'node:inspector'
import { join, relative } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterAll, expect } from 'vitest'
import { digest, type Ran, type Range } from './covered.ts'

/** Runs beside each test file: which parts of the product it ran, as V8 counts them, written down when it ends. */

type Scripts = readonly Pick<Profiler.ScriptCoverage, 'url' | 'functions'>[]

const root = fileURLToPath(new URL('../../', import.meta.url))
const folder = process.env.STILLPOINT_COVERAGE
if (!folder) throw new Error('This file is for npm run mutants, which says where to write.')
const test = relative(root, expect.getState().testPath!)
const name = digest(test)

// Programs and threads that the test begins write theirs here when they end (Node's documentation, NODE_V8_COVERAGE).
const begun = join(folder, `${name}-begun`)
mkdirSync(begun, { recursive: true })
process.env.NODE_V8_COVERAGE = begun

const session = new Session()
session.connect()
session.post('Profiler.enable')
session.post('Profiler.startPreciseCoverage', { callCount: true, detailed: true })

function add(ran: Ran, scripts: Scripts): void {
  for (const { url, functions } of scripts) {
    if (!url.startsWith('file:')) continue
    const file = relative(root, fileURLToPath(url.replace(/\?.*/, '')))
    if (!/^(app|drivers|main)\//.test(file)) continue
    const ranges = functions.flatMap(({ ranges }) =>
      ranges.map(({ startOffset, endOffset, count }): Range => [startOffset, endOffset, count > 0 ? 1 : 0]),
    )
    ran.held[file] ??= digest(readFileSync(join(root, file), 'utf8'))
    const known = ran.files[file]
    if (known) known.push(ranges)
    else ran.files[file] = [ranges]
  }
}

afterAll(() => {
  session.post('Profiler.takePreciseCoverage', (fault, answer) => {
    if (fault) throw fault
    const ran: Ran = { test, held: { [test]: digest(readFileSync(join(root, test), 'utf8')) }, files: {} }
    add(ran, answer.result)
    if (existsSync(begun))
      for (const file of readdirSync(begun)) {
        try {
          add(ran, (JSON.parse(readFileSync(join(begun, file), 'utf8')) as { result: Scripts }).result)
        } catch {
          // One that was ended while it wrote counts for nothing.
        }
      }
    rmSync(begun, { recursive: true, force: true })
    writeFileSync(join(folder, `${name}.ran`), JSON.stringify(ran))
  })
})
