import { join } from 'node:path'
import * as electron from 'electron'
import { defaultDataFolder } from '../host/data-folder.ts'
import { runShell } from './shell.ts'

// Built into dist/desktop, beside the window's own build in dist/renderer.
const here = import.meta.dirname
// Also where Electron keeps the window's state, however the program was started.
electron.app.setName('Stillpoint')
await runShell(
  electron,
  {
    page: join(here, '../renderer'),
    preload: join(here, 'preload.cjs'),
    core: join(here, 'core.mjs'),
    icon: join(here, 'icon.png'),
    station: defaultDataFolder(),
  },
  (words) => console.log(words),
)
