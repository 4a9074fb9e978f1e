import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { Autostart, autostartFile } from '../../main/desktop/autostart.ts'
import type { ElectronParts } from '../../main/desktop/parts.ts'

let folder: string
let openAtLogin: boolean
const electron = {
  app: {
    getLoginItemSettings: () => ({ openAtLogin }),
    setLoginItemSettings: (settings: { openAtLogin: boolean }) => {
      openAtLogin = settings.openAtLogin
    },
  },
} as unknown as ElectronParts

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-autostart-'))
  openAtLogin = false
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

describe('Autostart', () => {
  it('is off until a person asks for it, and writes the entry that Linux desktops read', () => {
    const file = autostartFile({ XDG_CONFIG_HOME: folder })
    const autostart = new Autostart(electron, 'linux', file)
    expect(autostart.on).toBe(false)
    autostart.set(true)
    expect(autostart.on).toBe(true)
    expect(readFileSync(file, 'utf8')).toMatch(
      /^\[Desktop Entry\]\nType=Application\nName=Stillpoint\nExec="/,
    )
    autostart.set(false)
    expect(autostart.on).toBe(false)
    expect(openAtLogin).toBe(false)
  })

  it.each(['win32', 'darwin'] as const)('asks the system itself on %s', (platform) => {
    const autostart = new Autostart(electron, platform, join(folder, 'unused'))
    autostart.set(true)
    expect(autostart.on).toBe(true)
    autostart.set(false)
    expect(autostart.on).toBe(false)
  })
})
