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

/** 'open', or the status with which the upgrade was refused. */
function upgrade(headers: Record<string, string>, path = '/rpc'): Promise<string> {
  return new Promise((resolve) => {
    const socket = new WebSocket(`ws://127.0.0.1:${page.port}${path}`, { headers })
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
  page = await servePage({ folder, port: 0, onWindow: (_socket, role) => windows.push(role) })
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

  it('exchanges the operator key for a cookie that no script can read', async () => {
    const { status, headers, body } = await exchange(tokenOf(page.address))
    expect(status).toBe(200)
    expect(JSON.parse(body)).toEqual({ role: 'operator' })
    expect(String(headers['set-cookie'])).toMatch(/HttpOnly; SameSite=Strict/)
  })

  it('refuses a wrong key, a broken body and a key brought by another page', async () => {
    expect((await exchange('wrong')).status).toBe(403)
    expect((await ask('/session', { method: 'POST', headers: { Origin: own() }, body: '{' })).status).toBe(
      403,
    )
    expect((await exchange(tokenOf(page.address), 'http://elsewhere.example')).status).toBe(403)
    expect((await ask('/session', { method: 'POST', body: '{}' })).status).toBe(403)
  })

  it('opens the wire to a window only with a cookie and from its own page', async () => {
    const cookie = String((await exchange(tokenOf(page.address))).headers['set-cookie']).split(';')[0]!
    expect(await upgrade({ Origin: own() })).toBe('403')
    expect(await upgrade({ Cookie: cookie })).toBe('403')
    expect(await upgrade({ Cookie: cookie, Origin: 'http://elsewhere.example' })).toBe('403')
    expect(await upgrade({ Cookie: cookie, Origin: own() }, '/other')).toBe('403')
    expect(await upgrade({ Cookie: cookie, Origin: own() })).toBe('open')
  })

  it('tells an onlooker from an operator', async () => {
    const cookie = String((await exchange(tokenOf(page.watcherAddress))).headers['set-cookie']).split(';')[0]!
    windows.length = 0
    expect(await upgrade({ Cookie: cookie, Origin: own() })).toBe('open')
    expect(windows).toEqual(['watcher'])
  })

  it('says in words that a port is taken', async () => {
    await expect(servePage({ folder, port: page.port, onWindow: () => undefined })).rejects.toThrow(
      /is taken by another program.*--port/,
    )
  })

  it('slows down whoever guesses keys', async () => {
    const own = await servePage({ folder, port: 0, onWindow: () => undefined })
    const before = page
    page = own
    try {
      for (let i = 0; i < 20; i++) await exchange(`guess ${i}`)
      expect((await exchange('guess')).status).toBe(429)
    } finally {
      page = before
      await own.close()
    }
  })
})
