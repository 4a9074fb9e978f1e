#!/usr/bin/env node
// The command's front door: runs under whatever Node the system has and goes on under the pinned one.
import { spawn } from 'node:child_process'
import { accessSync, constants, existsSync, mkdirSync } from 'node:fs'
import nodeModule, { createRequire } from 'node:module'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

const here = dirname(fileURLToPath(import.meta.url))
const cli = join(here, 'cli.ts')
keepCompiled(join(here, '../../node_modules/.cache/compiled'))

if (Number(process.versions.node.split('.')[0]) >= 24) {
  await import('./cli.ts')
} else {
  let node
  try {
    node = createRequire(import.meta.url).resolve('node/bin/node')
  } catch {
    node = undefined
  }
  if (!node || !existsSync(node)) {
    console.error('stillpoint: needs Node 24; run "npm ci" in the checkout, which brings it.')
    process.exit(1)
  }
  const child = spawn(node, [cli, ...process.argv.slice(2)], { stdio: 'inherit' })
  // On Windows the console tells the child itself, and passing a signal on would end it unheard.
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'])
    process.on(signal, () => process.platform === 'win32' || child.kill(signal))
  child.on('exit', (code, signal) => process.exit(code ?? (signal ? 128 + 15 : 1)))
}

/**
 * What Node has compiled of the program's files is kept beside them for the next start, which takes half as long then; its threads
 * read the same. Where that folder cannot be written nothing is kept. Node 24 never comes back from a folder that cannot be
 * made, so it is made first.
 */
function keepCompiled(folder) {
  if (process.env.NODE_COMPILE_CACHE !== undefined || process.env.NODE_DISABLE_COMPILE_CACHE !== undefined)
    return
  try {
    mkdirSync(folder, { recursive: true })
    accessSync(folder, constants.W_OK)
  } catch {
    return
  }
  process.env.NODE_COMPILE_CACHE = folder
  nodeModule.enableCompileCache?.(folder)
}
