import { mkdtempSync, readdirSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createORPCClient } from '@orpc/client'
import { RPCLink } from '@orpc/client/message-port'
import type { ContractRouterClient } from '@orpc/contract'
import { type Browser, chromium, type Page } from 'playwright'
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import type { Contract } from '../../app/contract/index.ts'
import { runShell, type Shell } from '../../main/desktop/shell.ts'
import { ensurePage } from '../../main/host/built.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { type StandIn, standIn } from './stand-in.ts'

// The real core and the real window, joined by the shell as on the desktop; only Electron itself is stood in for.

let browser: Browser
let stand: StandIn
let shell: Shell
let folder: string
let page: Page

beforeAll(async () => {
  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-background-networking',
      '--disable-component-update',
      '--no-first-run',
    ],
  })
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-whole-'))
  stand = await standIn(browser, folder)
  const started = await runShell(
    stand.electron,
    {
      page: ensurePage(),
      preload: join(folder, 'preload.cjs'),
      core: join(import.meta.dirname, '../../main/desktop/core-process.ts'),
      icon: join(folder, 'icon.png'),
    },
    (words) => process.env.STILLPOINT_TEST_TALK && console.log(words),
  )
  shell = started!
  const window = stand.seen.windows[0]!
  await window.ready
  page = window.webContents.page!
}, 90_000)
afterAll(async () => {
  await stand.close()
  await browser.close()
  rmSync(folder, { recursive: true, force: true })
})

/** A second window on the same core, by code: what a person would do on the Watch page. */
async function startRecording(): Promise<void> {
  const { port1, port2 } = new MessageChannel()
  const channel = new stand.electron.MessageChannelMain()
  shell.core.connect(channel.port1)
  const near = channel.port2 as unknown as {
    carryTo(deliver: (data: unknown) => void): void
    other: { receive(data: unknown): void }
  }
  near.carryTo((data) => port1.postMessage(data))
  port1.onmessage = ({ data }) => near.other.receive(data)
  port2.start()
  const client: ContractRouterClient<Contract> = createORPCClient(new RPCLink({ port: port2 }))
  await client.run.record({ operator: 'A. Person', name: 'Recording' })
  port1.close()
  port2.close()
}

const stateLine = () => page.locator('footer').textContent()

describe('the desktop program as a whole', () => {
  it('shows the places over the message port, and sets up the lab in a box from an empty start', async () => {
    await page.getByRole('navigation').waitFor()
    await page.keyboard.press('1')
    await page
      .getByRole('button', { name: /lab in a box/i })
      .first()
      .click()
    await vi.waitFor(async () => expect(await stateLine()).toMatch(/4 of 4 ready/), { timeout: 20_000 })
  }, 60_000)

  it('goes on after the core is killed: a session that runs is taken up with its gap, in the same window', async () => {
    await page.keyboard.press('Control+k')
    await page.keyboard.press('Escape')
    const station = await page.evaluate(() => document.title)
    expect(station).toContain('Stillpoint')
    await startRecording()
    await vi.waitFor(async () => expect(await stateLine()).toMatch(/Session/), { timeout: 20_000 })
    await vi.waitFor(() => expect(stand.seen.blockers.size).toBe(1), { timeout: 10_000 })
    const before = shell.core.pid
    process.kill(before!, 'SIGKILL')
    await vi.waitFor(
      () => {
        expect(shell.core.ready).toBe(true)
        expect(shell.core.pid).not.toBe(before)
      },
      { timeout: 30_000, interval: 100 },
    )
    expect(stand.seen.notices.some(({ body }) => body.includes('gap marked'))).toBe(true)
    await vi.waitFor(async () => expect(await stateLine()).toMatch(/Session/), { timeout: 20_000 })
    const [session] = readdirSync(join(folder, 'station/sessions')).filter(
      (name) => !/-(wal|shm)$/.test(name),
    )
    const file = openSessionFile(join(folder, 'station/sessions', session!), { mode: 'read' })
    try {
      expect(file.events({ kinds: ['resumed'] })).toHaveLength(1)
      expect(file.info.endedUtcUs).toBeNull()
    } finally {
      file.close()
    }
  }, 90_000)

  it('ends the core when it quits', async () => {
    const child = stand.seen.processes.at(-1)!.child
    await shell.quit()
    expect(child.exitCode).toBe(0)
    expect(stand.seen.quits).toBe(1)
  }, 30_000)
})
