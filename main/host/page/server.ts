import { createServer, type IncomingMessage, type ServerResponse } from 'node:http'
import { createServer as createTlsServer } from 'node:https'
import type { AddressInfo } from 'node:net'
import { type WebSocket, WebSocketServer } from 'ws'
import { loadBuiltPage, type ServedFile } from './files.ts'
import { Guard } from './guard.ts'
import { COOKIE, isSameSecret, type Role, Tokens } from './tokens.ts'

export interface PageOptions {
  /** Folder of the built page. */
  folder: string
  /** 0: any free port. */
  port: number
  /** Called for each window that has shown its key. */
  onWindow: (socket: WebSocket, role: Role) => void
  /** Beyond loopback only with TLS and a password in place of the operator's token. */
  beyond?: { address: string; names: string[]; key: Buffer; certificate: Buffer; password: string }
}

export interface PageServer {
  /** For the person at this computer; holds the token in its fragment. */
  address: string
  /** For those who only look. */
  watcherAddress: string
  port: number
  close(): Promise<void>
}

const POLICY = [
  "default-src 'none'",
  "script-src 'self'",
  // Inline styles only: the report's own page is shown in a sandboxed frame, which inherits this policy.
  "style-src 'self' 'unsafe-inline'",
  "img-src 'self' data: blob:",
  "font-src 'self'",
  "connect-src 'self'",
  "frame-src 'self' blob:",
  "manifest-src 'self'",
  "base-uri 'none'",
  "form-action 'none'",
  "frame-ancestors 'none'",
].join('; ')

const HEADERS: Record<string, string> = {
  'Content-Security-Policy': POLICY,
  'X-Content-Type-Options': 'nosniff',
  'Referrer-Policy': 'no-referrer',
  'Cross-Origin-Opener-Policy': 'same-origin',
  'Cross-Origin-Resource-Policy': 'same-origin',
  'Permissions-Policy': 'camera=(), microphone=(), geolocation=()',
}

const LOOPBACK_NAMES = ['127.0.0.1', 'localhost', '[::1]']
const LARGEST_MESSAGE = 32 * 1024 * 1024
const LARGEST_KEY = 4096

/** Serves the window as a page. Listens on loopback alone unless `beyond` says otherwise, with TLS and a password. */
export async function servePage(options: PageOptions): Promise<PageServer> {
  const files = loadBuiltPage(options.folder)
  const tokens = new Tokens()
  const { beyond } = options
  if (beyond && beyond.password.length < 12)
    throw new Error('Beyond loopback the page needs a password of at least 12 characters.')
  const scheme = beyond ? 'https' : 'http'
  const server = beyond ? createTlsServer({ key: beyond.key, cert: beyond.certificate }) : createServer()
  const throttle = new Throttle()
  let guard = new Guard([], 0, scheme)

  server.on('request', (request: IncomingMessage, response: ServerResponse) => {
    const refusal = guard.refusal(request, request.method === 'POST')
    if (refusal) return send(response, 403, refusal)
    if (request.method === 'POST' && request.url === '/session') return exchange(request, response)
    if (request.method !== 'GET' && request.method !== 'HEAD') return send(response, 405, 'Only GET here.')
    serveFile(files, request, response)
  })

  function exchange(request: IncomingMessage, response: ServerResponse): void {
    if (throttle.tooMany()) {
      send(response, 429, 'Too many wrong keys. Wait a minute and open the printed address again.')
      return
    }
    let text = ''
    request.setEncoding('utf8')
    request.on('data', (chunk: string) => {
      text += chunk
      if (text.length > LARGEST_KEY) request.destroy()
    })
    request.on('end', () => {
      const role = roleOf(readToken(text))
      if (!role) {
        throttle.wrong()
        return send(
          response,
          403,
          'This key is not valid any more. Open the address that the station printed when it started.',
        )
      }
      const cookie = `${COOKIE}=${tokens.openSession(role)}; HttpOnly; SameSite=Strict; Path=/${beyond ? '; Secure' : ''}`
      response.writeHead(200, {
        ...HEADERS,
        'Set-Cookie': cookie,
        'Content-Type': 'application/json',
        'Cache-Control': 'no-store',
      })
      response.end(JSON.stringify({ role }))
    })
  }

  function roleOf(token: string | undefined): Role | undefined {
    if (token === undefined) return undefined
    if (beyond && isSameSecret(token, beyond.password)) return 'operator'
    const role = tokens.roleOfToken(token)
    return beyond && role === 'operator' ? undefined : role
  }

  const sockets = new WebSocketServer({
    noServer: true,
    maxPayload: LARGEST_MESSAGE,
    perMessageDeflate: false,
  })
  server.on('upgrade', (request: IncomingMessage, socket, head) => {
    const role = tokens.roleOfCookie(request.headers.cookie)
    if (request.url !== '/rpc' || guard.refusal(request, true) !== undefined || !role) {
      socket.end('HTTP/1.1 403 Forbidden\r\nConnection: close\r\n\r\n')
      return
    }
    sockets.handleUpgrade(request, socket, head, (window) => options.onWindow(window, role))
  })

  const listenOn = beyond?.address ?? '127.0.0.1'
  await new Promise<void>((resolve, reject) => {
    server.once('error', (fault: NodeJS.ErrnoException) => reject(explainListen(fault, options.port)))
    server.listen(options.port, listenOn, resolve)
  })
  const { port } = server.address() as AddressInfo
  const names = beyond ? beyond.names : LOOPBACK_NAMES
  guard = new Guard(names, port, scheme)
  const base = `${scheme}://${names[0]}:${port}/`
  return {
    address: beyond ? base : `${base}#token=${tokens.operator}`,
    watcherAddress: `${base}#token=${tokens.watcher}`,
    port,
    close: () =>
      new Promise((resolve) => {
        for (const window of sockets.clients) window.close(1001, 'The station has ended.')
        const force = setTimeout(() => {
          for (const window of sockets.clients) window.terminate()
          server.closeAllConnections()
        }, 500)
        server.close(() => {
          clearTimeout(force)
          resolve()
        })
        server.closeIdleConnections()
      }),
  }
}

function readToken(text: string): string | undefined {
  try {
    const { token } = JSON.parse(text) as { token?: unknown }
    return typeof token === 'string' ? token : undefined
  } catch {
    return undefined
  }
}

function serveFile(files: Map<string, ServedFile>, request: IncomingMessage, response: ServerResponse): void {
  const path = (request.url ?? '/').split('?')[0]!
  const file = files.get(path)
  if (!file) {
    send(response, 404, 'There is nothing here.')
    return
  }
  response.writeHead(200, {
    ...HEADERS,
    'Content-Type': file.type,
    'Content-Length': file.body.byteLength,
    'Cache-Control': file.immutable ? 'public, max-age=31536000, immutable' : 'no-store',
  })
  response.end(request.method === 'HEAD' ? undefined : file.body)
}

function send(response: ServerResponse, status: number, words: string): void {
  response.writeHead(status, {
    ...HEADERS,
    'Content-Type': 'text/plain; charset=utf-8',
    'Cache-Control': 'no-store',
  })
  response.end(`${words}\n`)
}

function explainListen(fault: NodeJS.ErrnoException, port: number): Error {
  if (fault.code === 'EADDRINUSE') {
    return new Error(
      `Port ${port} is taken by another program. Choose another with --port, or --port 0 for any free one.`,
      { cause: fault },
    )
  }
  if (fault.code === 'EACCES')
    return new Error(`Port ${port} may not be used by this user. Choose one above 1023.`, { cause: fault })
  return fault
}

/** At most 20 wrong keys a minute, from anywhere. */
class Throttle {
  #wrong: number[] = []

  wrong(): void {
    this.#wrong.push(Date.now())
  }

  tooMany(): boolean {
    const minuteAgo = Date.now() - 60_000
    this.#wrong = this.#wrong.filter((at) => at > minuteAgo)
    return this.#wrong.length >= 20
  }
}
