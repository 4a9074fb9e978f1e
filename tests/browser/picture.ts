/**
 * Makes the README's picture: Watch in a night of the demo, from the real page of a real station.
 *   npm run picture
 */
import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { mkdtempSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { launchChromium, openWindow } from './chromium.ts'

const root = join(import.meta.dirname, '../..')
const MOST_BYTES = 300_000
/** Some of the night is past by then, and it measures. */
const MOMENT = /at setpoint 3 of 5|setpoint 3 of 5|3 of 5/i

const out = mkdtempSync(join(tmpdir(), 'stillpoint-picture-'))
const demo = spawn(
  process.execPath,
  [join(root, 'main/host/cli.ts'), 'demo', '--once', '--speed', '400', '--port', '0', '--out', out],
  { stdio: ['ignore', 'pipe', 'inherit'] },
)
const browser = await launchChromium()
try {
  let said = ''
  while (!/Watch it: (\S+)/.test(said)) said += String((await once(demo.stdout, 'data'))[0])
  demo.stdout.resume()
  const { page } = await openWindow(browser, /Watch it: (\S+)/.exec(said)![1]!, { width: 1280, height: 800 })
  await page.keyboard.press('2')
  await page.getByText(MOMENT).first().waitFor({ timeout: 240_000 })
  await page.waitForTimeout(4_000)
  const path = join(root, 'docs/watch.png')
  await page.screenshot({ path })
  const { size } = statSync(path)
  console.log(`${path}: ${size} bytes`)
  if (size > MOST_BYTES) throw new Error(`The picture is larger than ${MOST_BYTES} bytes.`)
} finally {
  demo.kill('SIGINT')
  await browser.close()
  rmSync(out, { recursive: true, force: true })
}
