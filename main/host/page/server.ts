import { createServer, type IncomingMessage, type ServerOptions, type ServerResponse } from 'node:http'
import { createServer as createTlsServer } from 'node:https'
import type { AddressInfo } from 'node:net'
import type { WebSocket } from 'ws'
import { z } from 'zod'
import { StationError } from '../../station/station-error.ts'
import { Allowance } from '../gate/allowance.ts'
import { Connections } from './connections.ts'
import { loadBuiltPage } from './files.ts'
import { Guard } from './guard.ts'
import { readShort } from './read-short.ts'
import { sendFile, sendJson, sendWords } from './replies.ts'
import { Throttle } from './throttle.ts'
import { type Admitted, Tokens } from './tokens.ts'
import { acceptWindows } from './upgrade.ts'

export interface PageOptions {
  /** Folder of the built page. */
  folder: string
  /** 0: any free port. */
  port: number
  /** Called for each window that has shown its key. */
  onWindow: (socket: WebSocket, admitted: Admitted) => void
  /** Whether one more window of this kind has room; without it there always is. */
  hasRoom?: (admitted: Admitted) => boolean
  /** Answers other programs, under /api/. */
  api?: (request: IncomingMessage, response: ServerResponse) => Promise<void>
  /** Beyond loopback only with TLS, and with people who sign in. */
  beyond?: Beyond
}

export interface Beyond {
  address: string
  names: string[]
  key: Buffer
  certificate: Buffer
  /** Id of the person whose name and password these are; rejects with words where they cannot be looked at just now. */
  signIn: (name: string, password: string, from: string) => Promise<string | undefined>
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

/** Serves the window as a page. Listens on loopback alone unless `beyond` says otherwise, with TLS and people who sign in. */
export async function servePage(options: PageOptions): Promise<PageServer> {
  const files = loadBuiltPage(options.folder)
  const tokens = new Tokens()
  const { beyond } = options
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
    const isApi = options.api !== undefined && request.url?.startsWith('/api/') === true
    const refusal = guard.refusal(request, request.method === 'POST' && !isApi)
    if (refusal) return sendWords(response, 403, refusal)
    // Browsers send no token by themselves: a call that shows one comes from a program that was given it.
    if (isApi) return void options.api!(request, response).catch(() => response.destroy())
    if (request.method === 'POST' && request.url === '/session')
      return void exchange(request, response).catch(() => response.destroy())
    if (request.method !== 'GET' && request.method !== 'HEAD')
      return sendWords(response, 405, 'Only GET here.')
    sendFile(files, request, response)
  })

  async function exchange(request: IncomingMessage, response: ServerResponse): Promise<void> {
    const from = request.socket.remoteAddress ?? 'an unknown address'
    const shown = readShown(await readShort(request))
    if (!shown) return sendWords(response, 403, WRONG_KEY)
    if ('name' in shown)
      return beyond ? signIn(beyond, shown, from, response) : sendWords(response, 403, WRONG_KEY)
    const role = tokens.roleOfToken(shown.token)
    if (role && !(beyond && role === 'operator'))
      return sendJson(response, { role, key: tokens.openKey({ role, ...(beyond && { address: from }) }) })
    // The right key is let in whatever others have tried.
    if (throttle.isOneTooMany(from))
      return sendWords(
        response,
        429,
        'Too many wrong keys. Wait a minute and open the printed address again.',
      )
    sendWords(response, 403, WRONG_KEY)
  }

  async function signIn(
    { signIn }: Beyond,
    { name, password }: SignIn,
    from: string,
    response: ServerResponse,
  ): Promise<void> {
    try {
      const person = await signIn(name, password, from)
      if (person === undefined) return sendWords(response, 403, 'Name or password are not right.')
      const role = 'operator'
      sendJson(response, { role, key: tokens.openKey({ role, person, address: from }) })
    } catch (fault) {
      if (!(fault instanceof StationError)) throw fault
      sendWords(response, 429, fault.message)
    }
  }

  const windows = acceptWindows(server, {
    admitted: (request) =>
      guard.refusal(request, true) === undefined ? tokens.admitted(request) : undefined,
    hasRoom: options.hasRoom ?? (() => true),
    onWindow(socket, admitted) {
      connections.known(socket.raw)
      options.onWindow(socket.window, admitted)
    },
  })

  const listenOn = beyond?.address ?? '127.0.0.1'
  await new Promise<void>((resolve, reject) => {
    server.once('error', (fault: NodeJS.ErrnoException) =>
      reject(explainListen(fault, options.port, listenOn)),
    )
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

const WRONG_KEY = 'This key is not valid any more. Open the address that the station printed when it started.'

const Shown = z.union([
  z.strictObject({ token: z.string().max(200) }),
  z.strictObject({ name: z.string().max(200), password: z.string().max(200) }),
])
type Shown = z.output<typeof Shown>
type SignIn = Extract<Shown, { name: string }>

/** What a window shows at the door; undefined where it is nothing of the kind. */
function readShown(text: string | undefined): Shown | undefined {
  try {
    return Shown.safeParse(JSON.parse(text ?? '')).data
  } catch {
    return undefined
  }
}

function explainListen(fault: NodeJS.ErrnoException, port: number, address: string): Error {
  if (fault.code === 'EADDRINUSE') {
    return new Error(
      `Port ${port} is taken by another program. Choose another with --port, or --port 0 for any free one.`,
      { cause: fault },
    )
  }
  if (fault.code === 'EADDRNOTAVAIL' || fault.code === 'ENOTFOUND')
    return new Error(
      `${address} is not an address of this computer. Give one without a port, such as 192.0.2.7 or 0.0.0.0.`,
      {
        cause: fault,
      },
    )
  if (fault.code === 'EACCES')
    return new Error(`Port ${port} may not be used by this user. Choose one above 1023.`, { cause: fault })
  return fault
}
