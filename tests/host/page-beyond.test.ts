import { execFileSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { request as plainRequest } from 'node:http'
import { request } from 'node:https'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { connect as connectTls } from 'node:tls'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { WebSocket } from 'ws'
import { asTold } from '../../app/messages/said.ts'
import { type PageOptions, type PageServer, servePage } from '../../main/host/page/server.ts'
import type { Admitted } from '../../main/host/page/tokens.ts'
import { StationError } from '../../main/station/station-error.ts'
import { hasProgram } from '../has-program.ts'

// The page as others on the network would get it, here still on loopback alone.

const NAME = 'C. Keeper'
const PASSWORD = 'twelve letters and more'
let folder: string
let certificate: Buffer
let key: Buffer
let page: PageServer
const windows: Admitted[] = []

/** Who has tried to sign in, from where. */
const tries: string[] = []

const beyond = (): NonNullable<PageOptions['beyond']> => ({
  address: '127.0.0.1',
  names: ['station.example', 'localhost'],
  key,
  certificate,
  signIn(name, password, from) {
    tries.push(from)
    if (name === 'busy')
      return Promise.reject(new StationError('refused', asTold('Too many people sign in at this moment.')))
    return Promise.resolve(name === NAME && password === PASSWORD ? 'c-keeper' : undefined)
  },
})

interface Answer {
  status: number
  body: string
}

function ask(
  path: string,
  { host = `localhost:${page.port}`, method = 'GET', origin, body }: Record<string, string | undefined> = {},
): Promise<Answer> {
  return new Promise((resolve, reject) => {
    const sent = request(
      {
        host: '127.0.0.1',
        port: page.port,
        path,
        method,
        ca: certificate,
        servername: 'localhost',
        headers: { Host: host, ...(origin !== undefined && { Origin: origin }) },
      },
      (response) => {
        let text = ''
        response.setEncoding('utf8')
        response.on('data', (chunk: string) => {
          text += chunk
        })
        response.on('end', () =>
          resolve({
            status: response.statusCode ?? 0,
            body: text,
          }),
        )
      },
    )
    sent.on('error', reject)
    sent.end(body)
  })
}

const own = () => `https://localhost:${page.port}`
const post = (body: object, origin = own()) =>
  ask('/session', { method: 'POST', origin, body: JSON.stringify(body) })
const signIn = (password = PASSWORD, origin = own()) => post({ name: NAME, password }, origin)

const keyIn = ({ body }: Answer) => (JSON.parse(body) as { key: string }).key

function upgrade(headers: Record<string, string>, key: string): Promise<string> {
  return new Promise((resolve) => {
    const socket = new WebSocket(`wss://localhost:${page.port}/rpc`, ['stillpoint', `key.${key}`], {
      headers,
      ca: certificate,
    })
    socket.on('open', () => {
      socket.close()
      resolve('open')
    })
    socket.on('unexpected-response', (_request, response) => resolve(String(response.statusCode)))
    socket.on('error', () => undefined)
  })
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-beyond-'))
  execFileSync(
    'openssl',
    [
      ...[
        'req',
        '-x509',
        '-newkey',
        'ec',
        '-pkeyopt',
        'ec_paramgen_curve:prime256v1',
        '-nodes',
        '-days',
        '2',
      ],
      ...['-subj', '/CN=localhost', '-addext', 'subjectAltName=DNS:localhost,DNS:station.example'],
      ...['-keyout', 'key.pem', '-out', 'certificate.pem'],
    ],
    { cwd: folder, stdio: 'pipe' },
  )
  key = readFileSync(join(folder, 'key.pem'))
  certificate = readFileSync(join(folder, 'certificate.pem'))
  writeFileSync(join(folder, 'index.html'), '<!doctype html><title>Stillpoint</title>')
  page = await servePage({
    folder,
    port: 0,
    onWindow: (_socket, admitted) => windows.push(admitted),
    beyond: beyond(),
  })
})
afterAll(async () => {
  await page?.close()
  rmSync(folder, { recursive: true, force: true })
})

const hasOpenssl = hasProgram('openssl', 'version')
if (!hasOpenssl) console.error('skipped: openssl, which makes the certificate of the page, is not installed')

describe.skipIf(!hasOpenssl)('servePage beyond loopback', () => {
  it('speaks TLS 1.2 or newer and nothing in the clear', async () => {
    expect((await ask('/')).status).toBe(200)
    const plain = await new Promise((resolve) => {
      const sent = plainRequest({ host: '127.0.0.1', port: page.port, path: '/' }, ({ statusCode }) =>
        resolve(statusCode),
      )
      sent.on('error', () => resolve('no answer'))
      sent.end()
    })
    expect(plain).toBe('no answer')
    const old = await new Promise((resolve) => {
      const socket = connectTls(
        { host: '127.0.0.1', port: page.port, ca: certificate, maxVersion: 'TLSv1.1', minVersion: 'TLSv1' },
        () => resolve('connected'),
      )
      socket.on('error', () => resolve('refused'))
    })
    expect(old).toBe('refused')
  })

  it('prints no key for the operator: people sign in at the door, each by name and password', async () => {
    expect(page.address).toBe(`https://station.example:${page.port}/`)
    const answer = await signIn()
    expect(answer.status).toBe(200)
    expect(await upgrade({ Origin: own() }, keyIn(answer))).toBe('open')
    expect(windows.at(-1)).toEqual({ role: 'operator', person: 'c-keeper', address: '127.0.0.1' })
    expect(tries.at(-1)).toBe('127.0.0.1')
  })

  it('lets onlookers in with their own key, as onlookers', async () => {
    const answer = await post({ token: page.watcherAddress.split('#token=')[1]! })
    expect(await upgrade({ Origin: own() }, keyIn(answer))).toBe('open')
    expect(windows.at(-1)).toEqual({ role: 'watcher', address: '127.0.0.1' })
  })

  it('refuses wrong names and passwords, and says in words when it is too busy to look', async () => {
    for (const wrong of ['', 'twelve letters and mor', `${PASSWORD} `, PASSWORD.toUpperCase()])
      expect((await signIn(wrong)).status).toBe(403)
    expect((await post({ name: 'somebody', password: PASSWORD })).status).toBe(403)
    expect((await post({ name: NAME })).status).toBe(403)
    expect(await post({ name: 'busy', password: PASSWORD })).toEqual({
      status: 429,
      body: 'Too many people sign in at this moment.\n',
    })
  })

  it('answers only to the names it was given, and only to its own page', async () => {
    expect((await ask('/', { host: `station.example:${page.port}` })).status).toBe(200)
    expect((await ask('/', { host: `127.0.0.1:${page.port}` })).status).toBe(403)
    expect((await ask('/', { host: `rebound.example:${page.port}` })).status).toBe(403)
    expect((await signIn(PASSWORD, 'https://elsewhere.example')).status).toBe(403)
    expect((await signIn(PASSWORD, `http://localhost:${page.port}`)).status).toBe(403)
    const key = keyIn(await signIn())
    expect(await upgrade({ Origin: 'https://elsewhere.example' }, key)).toBe('403')
    expect(await upgrade({}, key)).toBe('403')
  })
})
