import { createHash } from 'node:crypto'
import { writeFileSync } from 'node:fs'
import { Session } from 'node:inspector'
import { join, relative } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterAll, expect } from 'vitest'
import type { Ran } from './covered.ts'

/** Runs beside each test file: which parts of the product it ran, as V8 counts them, written down when it ends. */

const root = fileURLToPath(new URL('../../', import.meta.url))
const folder = process.env.STILLPOINT_COVERAGE
if (!folder) throw new Error('This file is for npm run mutants, which says where to write.')

const session = new Session()
session.connect()
session.post('Profiler.enable')
session.post('Profiler.startPreciseCoverage', { callCount: true, detailed: true })

afterAll(() => {
  const test = relative(root, expect.getState().testPath!)
  session.post('Profiler.takePreciseCoverage', (fault, answer) => {
    if (fault) throw fault
    const ran: Ran = { test, files: {} }
    for (const { url, functions } of answer.result) {
      if (!url.startsWith('file:')) continue
      const file = relative(root, fileURLToPath(url.replace(/\?.*/, '')))
      if (!/^(app|drivers|main)\//.test(file)) continue
      ran.files[file] = functions.flatMap(({ ranges }) =>
        ranges.map(
          ({ startOffset, endOffset, count }) => [startOffset, endOffset, count > 0 ? 1 : 0] as const,
        ),
      )
    }
    const name = createHash('sha256').update(test).digest('hex').slice(0, 16)
    writeFileSync(join(folder, `${name}.ran`), JSON.stringify(ran))
  })
})
