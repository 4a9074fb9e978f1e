import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { feedIn, Updates } from '../../main/desktop/updates.ts'

let folder: string
let asked: string[]
let answer: { status: number; text: string }
const logged: string[] = []
const server = createServer((request, response) => {
  asked.push(request.url!)
  response.writeHead(answer.status, { Location: '/elsewhere' }).end(answer.text)
})

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-updates-'))
  asked = []
  logged.splice(0)
  answer = { status: 200, text: 'version: 0.2.0\nfiles:\n  - url: Stillpoint-0.2.0.deb\n' }
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
})
afterEach(async () => {
  server.close()
  rmSync(folder, { recursive: true, force: true })
})

const feed = () => `http://127.0.0.1:${(server.address() as AddressInfo).port}/packages`

function updates(of: string | null, version = '0.1.0', platform: NodeJS.Platform = 'linux') {
  const told: string[] = []
  const it = new Updates({
    feed: of,
    version,
    platform,
    tell: (title) => told.push(title),
    log: (words) => logged.push(words),
  })
  return { told, ask: () => it.ask(), close: () => it.close() }
}

describe('Updates', () => {
  it('asks nobody until somebody has named a feed', async () => {
    const off = updates(feedIn(join(folder, 'updates.json'), (words) => logged.push(words)))
    await off.ask()
    expect(asked).toEqual([])
    expect(logged).toEqual([])
  })

  it('tells once of a newer version by the list that the packages come with, and of none that is not newer', async () => {
    const on = updates(feed())
    await on.ask()
    await on.ask()
    on.close()
    expect(on.told).toEqual(['Stillpoint 0.2.0 is there'])
    expect(asked).toEqual(['/packages/stable-linux.yml', '/packages/stable-linux.yml'])
    for (const version of ['0.2.0', '0.10.0', '1.0.0']) {
      const same = updates(feed(), version, 'win32')
      await same.ask()
      same.close()
      expect(same.told).toEqual([])
    }
    expect(asked.at(-1)).toBe('/packages/stable.yml')
  })

  it.each([
    ['answers with a fault', 500, ''],
    ['leads elsewhere', 302, ''],
    ['is something else', 200, '<html>'],
  ])('writes down that a feed %s, and says nothing', async (_, status, text) => {
    answer = { status, text }
    const on = updates(feed())
    await on.ask()
    on.close()
    expect(on.told).toEqual([])
    expect(logged.join()).toMatch(/feed of updates was not read/)
    expect(asked).not.toContain('/elsewhere')
  })

  it('takes a feed by https alone', () => {
    const file = join(folder, 'updates.json')
    const said: string[] = []
    for (const [address, taken] of [
      ['https://packages.example/stillpoint', true],
      ['http://packages.example/stillpoint', false],
      ['file:///etc', false],
      ['packages', false],
    ] as const) {
      writeFileSync(file, JSON.stringify({ feed: address }))
      expect(feedIn(file, (words) => said.push(words))).toBe(taken ? address : null)
    }
    expect(said).toHaveLength(3)
  })
})
