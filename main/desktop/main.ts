import { mkdtempSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import * as electron from 'electron'
import { defaultDataFolder } from '../host/data-folder.ts'
import { runShell } from './shell.ts'
import { openShellLog } from './shell-log.ts'
import { SELF_TEST } from './supervisor.ts'

// Built into dist/desktop, beside the window's own build in dist/renderer.
const here = import.meta.dirname
// Also where Electron keeps the window's state, however the program was started.
electron.app.setName('Stillpoint')
const log = openShellLog(join(electron.app.getPath('userData'), 'log'))
const selfTest = process.argv.includes(SELF_TEST)
// Not awaited here: Electron says `ready` only after this module has been evaluated, and the shell waits for it.
runShell(
  electron,
  {
    page: join(here, '../renderer'),
    preload: join(here, 'preload.cjs'),
    core: join(here, 'core.mjs'),
    visa: join(here, 'visa-process.mjs'),
    icon: join(here, 'icon.png'),
    station: selfTest ? mkdtempSync(join(tmpdir(), 'stillpoint-self-test-')) : defaultDataFolder(),
  },
  log,
  { selfTest },
).catch((fault: Error) => {
  log(`the program cannot start: ${fault.stack ?? fault.message}`)
  electron.dialog.showErrorBox('Stillpoint cannot start', fault.message)
  electron.app.exit(1)
})
