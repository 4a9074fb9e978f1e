import { StandardRPCHandler } from '@orpc/server/standard'
import { createServerPeerHandleRequestFn } from '@orpc/server/standard-peer'
import type { WebSocket } from 'ws'
import { apiDoor } from '../api/api-door.ts'
import { portWire, type WindowPort } from '../gate/port-wire.ts'
import { ServedWindow, type Wire } from '../gate/served-window.ts'
import { socketWire } from '../gate/socket-wire.ts'
import { groupOf } from '../page/group.ts'
import type { PageOptions } from '../page/server.ts'
import type { Admitted, Role } from '../page/tokens.ts'
import type { Services } from '../services.ts'
import { archiveRoutes } from './archive.ts'
import { os } from './base.ts'
import { benchRoutes } from './bench.ts'
import { checkRoutes } from './checks.ts'
import { draftRoutes } from './drafts.ts'
import { historyRoutes } from './history.ts'
import { laboratoryRoutes } from './laboratory.ts'
import { orderRoutes } from './orders.ts'
import { peopleRoutes } from './people.ts'
import { pointRoutes } from './points.ts'
import { registerRoutes, settingsRoutes } from './register.ts'
import { planRoutes, runRoutes } from './run.ts'
import { liveRoutes, stationRoutes } from './station.ts'
import { tokenRoutes } from './tokens.ts'
import { validationRoutes } from './validation.ts'
import { alarmRoutes, wireRoutes } from './wire.ts'

/** The server side of the whole contract; the compiler insists that nothing is missing. */
export const router = os.router({
  station: stationRoutes,
  live: liveRoutes,
  history: historyRoutes,
  bench: benchRoutes,
  plan: planRoutes,
  run: runRoutes,
  points: pointRoutes,
  archive: archiveRoutes,
  orders: orderRoutes,
  drafts: draftRoutes,
  register: registerRoutes,
  checks: checkRoutes,
  wire: wireRoutes,
  alarms: alarmRoutes,
  settings: settingsRoutes,
  people: peopleRoutes,
  validation: validationRoutes,
  laboratory: laboratoryRoutes,
  tokens: tokenRoutes,
})

const handler = new StandardRPCHandler(router, {})

/** Serves one window over whatever carries it. */
export function serveWindow(services: Services, role: Role, wire: Wire): ServedWindow {
  return new ServedWindow(services.gate, groupOf(role), wire, (request, call) =>
    createServerPeerHandleRequestFn(handler, { context: { role, services, call } })(request),
  )
}

/** Serves windows that come over a WebSocket: what servePage needs. */
export function socketWindows(services: Services): Pick<PageOptions, 'onWindow' | 'hasRoom' | 'api'> {
  const hasRoom = ({ role }: Admitted) => services.gate.hasRoom(groupOf(role))
  const onWindow = (socket: WebSocket, { role, person, address }: Admitted) => {
    const window = serveWindow(services, role, socketWire(socket))
    window.person = person
    window.address = address
    // What the frames are wrong about is told by the close code that the socket sends by itself.
    socket.on('error', (fault) =>
      services.gate.refusals.warn(`The link to a window was ended: ${fault.message}`),
    )
    socket.on('message', (data, isBinary) => window.hear(isBinary ? data : String(data)))
    socket.on('close', () => window.closed())
    // Pings are answered by the socket itself, and count like anything else that comes in.
    socket.on('ping', (data) => window.heed(data.byteLength))
  }
  return { hasRoom, onWindow, api: apiDoor(services) }
}

/** A port as the core gets it. */
export interface ServedPort extends WindowPort {
  on(event: 'message', listener: (event: { data: unknown }) => void): unknown
  on(event: 'close', listener: () => void): unknown
}

/** Ports open at the same time; the window needs one, and one more while it changes over. */
const MOST_PORTS = 16

/** Serves windows that come over a message port; whoever holds one is the operator. */
export function portWindows(services: Services): (port: ServedPort) => void {
  const open = new Map<ServedPort, ServedWindow>()
  const end = (port: ServedPort) => {
    open.get(port)?.closed()
    open.delete(port)
  }
  return (port) => {
    const window = serveWindow(services, 'operator', portWire(port))
    open.set(port, window)
    port.on('message', ({ data }) => window.hear(data))
    port.on('close', () => end(port))
    // The oldest goes: whoever still uses it asks for another.
    if (open.size <= MOST_PORTS) return
    const [oldest] = open.keys()
    end(oldest!)
    oldest!.close()
  }
}
