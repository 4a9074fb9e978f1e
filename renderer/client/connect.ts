import { type ClientLink, createORPCClient, DynamicLink } from '@orpc/client'
import { RPCLink as PortLink } from '@orpc/client/message-port'
import { RPCLink as SocketLink } from '@orpc/client/websocket'
import type { ContractRouterClient } from '@orpc/contract'
import { ResponseValidationPlugin } from '@orpc/contract/plugins'
import { createStore } from 'zustand/vanilla'
import { at } from '../../app/base/lists.ts'
import { type Contract, contract } from '../../app/contract/index.ts'
import { orAsPerson } from '../page/person.ts'
import { type Admission, admission, forgetKey, signInAtDoor, whyRefused } from './admission.ts'
import { keepPort } from './keep-port.ts'
import { present } from './person.ts'
import { Silence } from './silence.ts'

/**
 * The one place that knows how the window reaches the station: a MessagePort on the desktop, a WebSocket in a browser.
 * It joins again by itself; what waits for the station awaits `whenJoined`.
 */

export interface Joining {
  /** 'silent': the link stands, but nothing has come over it for a while. 'door': somebody has to sign in first. */
  state: 'joining' | 'joined' | 'silent' | 'lost' | 'shut-out' | 'door'
  /** For the state line. */
  words: string
  /** Counts up with each new link, so that what was watched is watched again. */
  round: number
}

export const joining = createStore<Joining>(() => ({
  state: 'joining',
  words: 'Joining the station',
  round: 0,
}))

type Link = ClientLink<Record<never, never>>
const RETRY_MS = [250, 500, 1000, 2000, 4000]

export class NotJoined extends Error {
  readonly code = 'not-joined'
  constructor() {
    super(
      'The station does not answer just now. Nothing was changed; try again when the state line says it is back.',
    )
  }
}

const NOT_KNOWN = 'The station does not know this window. Open the address that it printed when it started.'

/** The station sends its state at least once a second. */
const BEAT_MS = 1000

let link: Link | undefined
let waiting: (() => void)[] = []
/** Gives the link up for a new one. */
let renew: () => void = () => undefined
const silence = new Silence(
  () =>
    joining.setState({ state: 'silent', words: 'The station has gone silent. The numbers on show are old.' }),
  () => renew(),
)

function joined(next: Link): void {
  link = next
  silence.heard()
  joining.setState(({ round }) => ({ state: 'joined', words: 'Joined', round: round + 1 }))
  const woken = waiting
  waiting = []
  for (const wake of woken) wake()
}

function lost(words: string, state: 'lost' | 'shut-out' | 'door' = 'lost'): void {
  link = undefined
  joining.setState({ state, words })
}

/** The station has said something. */
export function heardStation(): void {
  silence.heard()
  if (link && joining.getState().state === 'silent') joining.setState({ state: 'joined', words: 'Joined' })
}

/** Resolves at once while joined, else with the next joining. */
export function whenJoined(): Promise<void> {
  return link ? Promise.resolve() : new Promise((resolve) => waiting.push(resolve))
}

const clientOf = (through: Link): ContractRouterClient<Contract> => createORPCClient(through)

const linked = new DynamicLink<Record<never, never>>(() => {
  if (!link) throw new NotJoined()
  return link
})

/** What needs a person asks for one, and is then asked again. */
export const station = clientOf({
  call: (path, input, options) => orAsPerson(() => linked.call(path, input, options)),
})

const plugins = () => [new ResponseValidationPlugin(contract)]

function joinByPort(): void {
  const kept = keepPort(window, location.origin, {
    onPort(port) {
      const next = new PortLink({ port, plugins: plugins() })
      void present(clientOf(next))
        .catch(() => undefined)
        .then(() => joined(next))
    },
    onEnd: () =>
      lost('The station core has stopped and is being started again. The numbers on show are from before.'),
  })
  renew = kept.renew
}

function joinBySocket(key: string, attempt = 0): void {
  const address = `${location.protocol === 'https:' ? 'wss' : 'ws'}://${location.host}/rpc`
  // The handshake has no other place for a key that appears in no address.
  const socket = new WebSocket(address, ['stillpoint', `key.${key}`])
  let wasOpen = false
  renew = () => socket.close()
  const admit = async () => {
    const next = new SocketLink({ websocket: socket, plugins: plugins() })
    // A door that opens may have nobody behind it yet: after a loss the station must have answered once.
    if (joining.getState().state !== 'joining') await clientOf(next).station.state()
    await present(clientOf(next))
    wasOpen = true
    joined(next)
  }
  // Where nobody answers, the socket closes and its listener tries again.
  socket.addEventListener('open', () => admit().catch(() => undefined))
  socket.addEventListener('close', async () => {
    const next = wasOpen ? 0 : attempt + 1
    const waitMs = at(RETRY_MS, Math.min(next, RETRY_MS.length - 1))
    if (next > 1 && (await whyRefused()) === 'shut-out') lost(NOT_KNOWN, 'shut-out')
    else
      lost(
        'The station does not answer; the numbers on show are old. Measuring does not need this window. Trying again.',
      )
    setTimeout(() => joinBySocket(key, next), waitMs)
  })
}

/** Beyond the station's own computer the page is served with TLS, and people sign in at its door. */
const hasDoor = () => location.protocol === 'https:'

function showDoor(): void {
  forgetKey()
  lost('Sign in to the station.', 'door')
}

/** Undefined where it has worked; else why not, in words. */
export async function enterByDoor(name: string, password: string): Promise<string | undefined> {
  const admitted: Admission = await signInAtDoor(name, password).catch(() => ({
    refusal: 'The station does not answer. Try again in a moment.',
  }))
  if ('refusal' in admitted) return admitted.refusal
  joining.setState({ state: 'joining', words: 'Joining the station' })
  joinBySocket(admitted.key)
  return undefined
}

/** Starts joining. Called once, by main.tsx. */
export async function startJoining(): Promise<void> {
  setInterval(() => link && silence.beat(), BEAT_MS)
  if (location.protocol === 'stillpoint:') return joinByPort()
  const admitted = await admission().catch(() => undefined)
  if (admitted && 'key' in admitted) joinBySocket(admitted.key)
  else if (hasDoor() && !admitted) showDoor()
  else lost(admitted?.refusal ?? NOT_KNOWN, 'shut-out')
}
