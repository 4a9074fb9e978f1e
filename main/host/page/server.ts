import { createServer, type IncomingMessage, type ServerOptions, type ServerResponse } from 'node:http'
import { createServer as createTlsServer } from 'node:https'
import type { AddressInfo } from 'node:net'
import type { WebSocket } from 'ws'
import { Allowance } from '../gate/allowance.ts'
import { Connections } from './connections.ts'
import { loadBuiltPage } from './files.ts'
import { Guard } from './guard.ts'
import { readShort } from './read-short.ts'
import { sendFile, sendJson, sendWords } from './replies.ts'
import { isSameSecret, type Role, Tokens } from './tokens.ts'
import { acceptWindows } from './upgrade.ts'

export interface PageOptions {
  /** Folder of the built page. */
  folder: string
  /** 0: any free port. */
  port: number
  /** Called for each window that has shown its key. */
  onWindow: (socket: WebSocket, role: Role) => void
  /** Whether one more window of this role has room; without it there always is. */
  hasRoom?: (role: Role) => boolean
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

const LOOPBACK_NAMES = ['127.0.0.1', 'localhost', '[::1]']

/** Requests a second in the long run, and how many may come at once: the page is some forty files. */
const REQUESTS_PER_SECOND = 200
const REQUESTS_AT_ONCE = 600
/** Somebody who connects and says nothing, or says it one letter at a time, is not waited for, ms. */
const PATIENCE_MS = 8_000
const LOOK_MS = 1_000

const SERVER: ServerOptions = {
  headersTimeout: PATIENCE_MS,
  requestTimeout: PATIENCE_MS,
  connectionsCheckingInterval: LOOK_MS,
  keepAliveTimeout: 5_000,
  maxHeaderSize: 8 * 1024,
}

/** Serves the window as a page. Listens on loopback alone unless `beyond` says otherwise, with TLS and a password. */
export async function servePage(options: PageOptions): Promise<PageServer> {
  const files = loadBuiltPage(options.folder)
  const tokens = new Tokens()
  const { beyond } = options
  if (beyond && beyond.password.length < 12)
    throw new Error('Beyond loopback the page needs a password of at least 12 characters.')
  const scheme = beyond ? 'https' : 'http'
  const server = beyond
    ? createTlsServer({
        ...SERVER,
        key: beyond.key,
        cert: beyond.certificate,
        minVersion: 'TLSv1.2',
        handshakeTimeout: PATIENCE_MS,
      })
    : createServer(SERVER)
  const connections = new Connections(server)
  const requests = new Allowance(REQUESTS_PER_SECOND, REQUESTS_AT_ONCE, performance.now())
  const throttle = new Throttle()
  let guard = new Guard([], 0, scheme)

  server.on('request', (request: IncomingMessage, response: ServerResponse) => {
    if (!requests.take(1, performance.now())) {
      response.setHeader('Connection', 'close')
      return sendWords(response, 503, 'Too many requests just now. Load the page again in a moment.')
    }
    const refusal = guard.refusal(request, request.method === 'POST')
    if (refusal) return sendWords(response, 403, refusal)
    if (request.method === 'POST' && request.url === '/session') return void exchange(request, response)
    if (request.method !== 'GET' && request.method !== 'HEAD')
      return sendWords(response, 405, 'Only GET here.')
    sendFile(files, request, response)
  })

  async function exchange(request: IncomingMessage, response: ServerResponse): Promise<void> {
    const text = await readShort(request)
    if (text === undefined) return
    const role = roleOf(readToken(text))
    if (!role) {
      // The right key is let in whatever others have tried.
      if (throttle.isOneTooMany())
        return sendWords(
          response,
          429,
          'Too many wrong keys. Wait a minute and open the printed address again.',
        )
      return sendWords(
        response,
        403,
        'This key is not valid any more. Open the address that the station printed when it started.',
      )
    }
    sendJson(response, { role, key: tokens.openKey(role) })
  }

  function roleOf(token: string | undefined): Role | undefined {
    if (token === undefined) return undefined
    if (beyond && isSameSecret(token, beyond.password)) return 'operator'
    const role = tokens.roleOfToken(token)
    return beyond && role === 'operator' ? undefined : role
  }

  const windows = acceptWindows(server, {
    roleOf: (request) =>
      guard.refusal(request, true) === undefined ? tokens.roleOfWindow(request) : undefined,
    hasRoom: options.hasRoom ?? (() => true),
    onWindow(socket, role) {
      connections.known(socket.raw)
      options.onWindow(socket.window, role)
    },
  })

  const listenOn = beyond?.address ?? '127.0.0.1'
  await new Promise<void>((resolve, reject) => {
    server.once('error', (fault: NodeJS.ErrnoException) => reject(explainListen(fault, options.port)))
    server.listen(options.port, listenOn, resolve)
  })
  // A server that listens may still fail to accept one (no file handles left, say): the next may come in again.
  server.on('error', () => undefined)
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
        windows.close()
        const force = setTimeout(() => {
          windows.terminate()
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

/** Wrong keys: 20 a minute are told that they are wrong. */
class Throttle {
  #wrong: number[] = []

  isOneTooMany(): boolean {
    const now = Date.now()
    this.#wrong = this.#wrong.filter((at) => at > now - 60_000)
    if (this.#wrong.length >= 20) return true
    this.#wrong.push(now)
    return false
  }
}
