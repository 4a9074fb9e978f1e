import { join } from 'node:path'
import * as electron from 'electron'
import { runShell } from './shell.ts'

// Built into dist/desktop, beside the window's own build in dist/renderer.
const here = import.meta.dirname
await runShell(
  electron,
  {
    page: join(here, '../renderer'),
    preload: join(here, 'preload.cjs'),
    core: join(here, 'core.mjs'),
    icon: join(here, 'icon.png'),
  },
  (words) => console.log(words),
)
