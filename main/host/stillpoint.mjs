#!/usr/bin/env node
// The command's front door: runs under whatever Node the system has and goes on under the pinned one.
import { spawn } from 'node:child_process'
import { existsSync } from 'node:fs'
import { createRequire } from 'node:module'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

const here = dirname(fileURLToPath(import.meta.url))
const cli = join(here, 'cli.ts')

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
