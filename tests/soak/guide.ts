import { spawnSync } from 'node:child_process'
import { mkdtempSync, readdirSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { blocksOf } from '../host/guide-blocks.ts'

const ROOT = fileURLToPath(new URL('../../', import.meta.url))

/** Runs the commands of the guide that are too dear for the tests: those of its blocks `sh dear`. */
export function runGuide(): { good: boolean; lines: string[] } {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-guide-'))
  try {
    const commands = readdirSync(join(ROOT, 'docs/guide')).flatMap((page) =>
      blocksOf(page, 'sh dear').flatMap((block) => block.trim().split('\n')),
    )
    const lines = commands.map((line) => {
      const own = `npx() { shift; "${process.execPath}" "${ROOT}main/host/stillpoint.mjs" "$@"; }`
      const { status } = spawnSync('bash', ['-euc', `${own}\n${line}`], { cwd: folder, stdio: 'inherit' })
      return `${status === 0 ? 'ran' : 'FAILED'}: ${line}`
    })
    const good = commands.length > 0 && lines.every((line) => line.startsWith('ran'))
    return { good, lines: [...lines, good ? 'Every dear command of the guide runs.' : 'The guide is wrong.'] }
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}
