import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { request } from 'node:http'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { WebSocket } from 'ws'
import { type PageServer, servePage } from '../../main/host/page/server.ts'

interface Answer {
  status: number
  headers: NodeJS.Dict<string | string[]>
  body: string
}

let folder: string
let page: PageServer
const windows: string[] = []

function ask(
  path: string,
  options: { method?: string; headers?: Record<string, string>; body?: string } = {},
): Promise<Answer> {
  return new Promise((resolve, reject) => {
    const sent = request(
      {
        host: '127.0.0.1',
        port: page.port,
        path,
        method: options.method ?? 'GET',
        headers: { Host: `127.0.0.1:${page.port}`, ...options.headers },
      },
      (response) => {
        let body = ''
        response.setEncoding('utf8')
        response.on('data', (chunk: string) => {
          body += chunk
        })
        response.on('end', () =>
          resolve({ status: response.statusCode ?? 0, headers: response.headers, body }),
        )
      },
    )
    sent.on('error', reject)
    sent.end(options.body)
  })
}

const own = () => `http://127.0.0.1:${page.port}`
const tokenOf = (address: string) => address.split('#token=')[1]!
const exchange = (token: string, origin = own()) =>
  ask('/session', { method: 'POST', headers: { Origin: origin }, body: JSON.stringify({ token }) })

/** The key of a window that is opened at a printed address. */
const keyOf = async (address: string) =>
  (JSON.parse((await exchange(tokenOf(address), address.split('/#')[0]!)).body) as { key: string }).key

/** 'open', or the status with which the upgrade was refused. */
function upgrade(headers: Record<string, string>, key?: string, path = '/rpc'): Promise<string> {
  return new Promise((resolve) => {
    const protocols = key === undefined ? ['stillpoint'] : ['stillpoint', `key.${key}`]
    const socket = new WebSocket(`ws://127.0.0.1:${page.port}${path}`, protocols, { headers })
    socket.on('open', () => {
      socket.close()
      resolve('open')
    })
    socket.on('unexpected-response', (_request, response) => resolve(String(response.statusCode)))
    socket.on('error', () => undefined)
  })
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-page-'))
  writeFileSync(join(folder, 'index.html'), '<!doctype html><title>Stillpoint</title>')
  writeFileSync(join(folder, 'secret.txt'), 'not a kind of file that is served')
  page = await servePage({ folder, port: 0, onWindow: (_socket, { role }) => windows.push(role) })
})
afterAll(async () => {
  await page.close()
  rmSync(folder, { recursive: true, force: true })
})

describe('servePage', () => {
  it('serves the built page with a policy that allows no foreign source, no inline script and no eval', async () => {
    const { status, headers, body } = await ask('/')
    expect(status).toBe(200)
    expect(body).toContain('Stillpoint')
    const policy = String(headers['content-security-policy'])
    expect(policy).toContain("default-src 'none'")
    expect(policy).toContain("script-src 'self';")
    expect(policy).not.toContain('unsafe-eval')
    expect(policy).toContain("frame-ancestors 'none'")
  })

  it.each(['/../package.json', '/%2e%2e/package.json', '/secret.txt', '//etc/passwd', '/assets/../../x'])(
    'has nothing at %s',
    async (path) => {
      expect((await ask(path)).status).toBe(404)
    },
  )

  it('refuses a foreign name pointed at this computer', async () => {
    expect((await ask('/', { headers: { Host: `rebound.example:${page.port}` } })).status).toBe(403)
  })

  it('exchanges the operator token for a key of its own, and sets no cookie that other ports would get', async () => {
    const { status, headers, body } = await exchange(tokenOf(page.address))
    expect(status).toBe(200)
    expect(JSON.parse(body)).toEqual({ role: 'operator', key: expect.stringMatching(/^[\w-]{32}$/) })
    expect(headers['set-cookie']).toBeUndefined()
    expect(headers['cache-control']).toBe('no-store')
  })

  it('does not know the key of another station on this computer, nor forgets its own for it', async () => {
    const other = await servePage({ folder, port: 0, onWindow: () => undefined })
    try {
      const own = `http://127.0.0.1:${page.port}`
      const key = await keyOf(page.address)
      const mine = page
      page = other
      const foreign = await keyOf(other.address)
      const there = { Origin: `http://127.0.0.1:${other.port}` }
      expect(await upgrade({ ...there, Cookie: `stillpoint=${key}` }, key)).toBe('403')
      expect(await upgrade(there, foreign)).toBe('open')
      page = mine
      expect(await upgrade({ Origin: own }, key)).toBe('open')
    } finally {
      await other.close()
    }
  })

  it('refuses a wrong key, a broken body and a key brought by another page', async () => {
    expect((await exchange('wrong')).status).toBe(403)
    expect((await ask('/session', { method: 'POST', headers: { Origin: own() }, body: '{' })).status).toBe(
      403,
    )
    expect((await exchange(tokenOf(page.address), 'http://elsewhere.example')).status).toBe(403)
    expect((await ask('/session', { method: 'POST', body: '{}' })).status).toBe(403)
  })

  it('opens the wire to a window only with a key and from its own page', async () => {
    const key = await keyOf(page.address)
    expect(await upgrade({ Origin: own() })).toBe('403')
    expect(await upgrade({ Origin: own() }, 'made-up')).toBe('403')
    expect(await upgrade({}, key)).toBe('403')
    expect(await upgrade({ Origin: 'http://elsewhere.example' }, key)).toBe('403')
    expect(await upgrade({ Origin: own() }, key, '/other')).toBe('403')
    expect(await upgrade({ Origin: own(), Cookie: `stillpoint=${key}` })).toBe('403')
    expect(await upgrade({ Origin: own() }, key)).toBe('open')
  })

  it('tells an onlooker from an operator', async () => {
    windows.length = 0
    expect(await upgrade({ Origin: own() }, await keyOf(page.watcherAddress))).toBe('open')
    expect(windows).toEqual(['watcher'])
  })

  it('says in words that a port is taken', async () => {
    await expect(servePage({ folder, port: page.port, onWindow: () => undefined })).rejects.toThrow(
      /is taken by another program.*--port/,
    )
  })

  it('slows down whoever guesses keys, and still lets the right one in', async () => {
    const own = await servePage({ folder, port: 0, onWindow: () => undefined })
    const before = page
    page = own
    try {
      for (let i = 0; i < 20; i++) await exchange(`guess ${i}`)
      expect((await exchange('guess')).status).toBe(429)
      expect((await exchange(tokenOf(page.address))).status).toBe(200)
    } finally {
      page = before
      await own.close()
    }
  })
})
