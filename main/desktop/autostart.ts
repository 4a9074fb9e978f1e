import { existsSync, mkdirSync, rmSync, writeFileSync } from 'node:fs'
import { homedir } from 'node:os'
import { dirname, join } from 'node:path'
import type { ElectronParts } from './parts.ts'

/** Where Linux desktops look for what starts with a person's session (XDG Autostart). */
export function autostartFile(environment: NodeJS.ProcessEnv = process.env): string {
  return join(environment.XDG_CONFIG_HOME ?? join(homedir(), '.config'), 'autostart', 'stillpoint.desktop')
}

/** Starting with the system, off unless a person asks for it. */
export class Autostart {
  readonly #electron: ElectronParts
  readonly #platform: NodeJS.Platform
  readonly #file: string

  constructor(electron: ElectronParts, platform: NodeJS.Platform = process.platform, file = autostartFile()) {
    this.#electron = electron
    this.#platform = platform
    this.#file = file
  }

  get on(): boolean {
    if (this.#platform === 'linux') return existsSync(this.#file)
    return this.#electron.app.getLoginItemSettings().openAtLogin
  }

  /** Throws a system error where the entry cannot be written. */
  set(on: boolean): void {
    if (this.#platform !== 'linux') {
      this.#electron.app.setLoginItemSettings({ openAtLogin: on })
      return
    }
    if (!on) {
      rmSync(this.#file, { force: true })
      return
    }
    mkdirSync(dirname(this.#file), { recursive: true })
    const program = process.env.APPIMAGE ?? process.execPath
    writeFileSync(
      this.#file,
      `[Desktop Entry]\nType=Application\nName=Stillpoint\nExec="${program.replaceAll(/(["\\$`])/g, '\\$1')}"\nX-GNOME-Autostart-enabled=true\n`,
    )
  }
}
