import { RPCHandler as PortHandler } from '@orpc/server/message-port'
import { RPCHandler as SocketHandler } from '@orpc/server/ws'
import type { WebSocket } from 'ws'
import type { Role } from '../page/tokens.ts'
import type { Services } from '../services.ts'
import { archiveRoutes } from './archive.ts'
import { os } from './base.ts'
import { benchRoutes } from './bench.ts'
import { checkRoutes } from './checks.ts'
import { historyRoutes } from './history.ts'
import { pointRoutes } from './points.ts'
import { registerRoutes, settingsRoutes } from './register.ts'
import { planRoutes, runRoutes } from './run.ts'
import { liveRoutes, stationRoutes } from './station.ts'
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
  register: registerRoutes,
  checks: checkRoutes,
  wire: wireRoutes,
  alarms: alarmRoutes,
  settings: settingsRoutes,
})

/** Serves windows that come over a WebSocket. */
export function socketWindows(services: Services): (socket: WebSocket, role: Role) => void {
  const handler = new SocketHandler(router)
  return (socket, role) => {
    void handler.upgrade(socket, { context: { role, services } })
  }
}

/** Serves windows that come over a message port; whoever holds one is the operator. */
export function portWindows(
  services: Services,
): (port: Parameters<PortHandler<never>['upgrade']>[0]) => void {
  const handler = new PortHandler(router)
  return (port) => handler.upgrade(port, { context: { role: 'operator', services } })
}
