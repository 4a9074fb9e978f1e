import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { _electron } from 'playwright'
import { describe, expect, it } from 'vitest'
import { ensureDesktop, ensurePage } from '../../main/host/built.ts'

const electronFolder = join(import.meta.dirname, '../../node_modules/electron')

/** The binary's path where it has been fetched; asking the package itself would start a download. */
function binary(): string | undefined {
  const pathFile = join(electronFolder, 'path.txt')
  if (!existsSync(pathFile)) return undefined
  const path = join(electronFolder, 'dist', readFileSync(pathFile, 'utf8').trim())
  return existsSync(path) ? path : undefined
}

const executablePath = binary()
const displayless = process.platform === 'linux' && !process.env.DISPLAY && !process.env.WAYLAND_DISPLAY
const whyNot = !executablePath
  ? "Electron's binary is not on this machine (npx install-electron fetches it)"
  : displayless
    ? 'no display (start it under xvfb-run)'
    : undefined
if (whyNot && process.env.STILLPOINT_NEED_ELECTRON) throw new Error(whyNot)
if (whyNot) console.log(`The real window is not tested here: ${whyNot}.`)

describe.skipIf(whyNot !== undefined)('the real desktop program', () => {
  it('opens a window that has no Node in it and shows the places', async () => {
    ensurePage()
    const built = ensureDesktop()
    const data = mkdtempSync(join(tmpdir(), 'stillpoint-electron-'))
    const program = await _electron.launch({
      // Its station is a new one, not that of whoever runs the test.
      env: { ...process.env, HOME: data, APPDATA: data, XDG_DATA_HOME: data } as Record<string, string>,
      executablePath: executablePath!,
      args: [
        join(built, 'main.mjs'),
        `--user-data-dir=${data}`,
        ...(process.getuid?.() === 0 ? ['--no-sandbox'] : []),
      ],
    })
    try {
      const window = await program.firstWindow()
      await window.getByRole('navigation').waitFor({ timeout: 30_000 })
      expect(window.url()).toBe('stillpoint://window/')
      expect(await window.evaluate(() => typeof (globalThis as { require?: unknown }).require)).toBe(
        'undefined',
      )
      expect(await window.evaluate(() => typeof (globalThis as { process?: unknown }).process)).toBe(
        'undefined',
      )
    } finally {
      await program.close()
      rmSync(data, { recursive: true, force: true })
    }
  }, 120_000)
})
