import { spawnSync } from 'node:child_process'
import { join } from 'node:path'

/** Whether a library can be built and loaded here. */
export const hasCompiler = process.platform === 'linux' && spawnSync('gcc', ['--version']).status === 0

/** Builds the stand-in for a VISA library into a folder and gives its path. */
export function buildStandIn(folder: string): string {
  const library = join(folder, 'libvisa.so')
  const source = join(import.meta.dirname, 'stand-in.c')
  const built = spawnSync('gcc', ['-shared', '-fPIC', '-Wall', '-Wextra', '-Werror', '-o', library, source])
  if (built.status !== 0) throw new Error(String(built.stderr))
  return library
}
