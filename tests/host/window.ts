import { createORPCClient, type ORPCError } from '@orpc/client'
import { RPCLink } from '@orpc/client/message-port'
import type { ContractRouterClient } from '@orpc/contract'
import type { Contract } from '../../app/contract/index.ts'
import { portWire } from '../../main/host/gate/port-wire.ts'
import type { Role } from '../../main/host/page/tokens.ts'
import { serveWindow } from '../../main/host/router/index.ts'
import type { Services } from '../../main/host/services.ts'
import { KEEPER } from './keeper.ts'

export type Client = ContractRouterClient<Contract>

/** Windows on a station's contract without a page: clients on message ports, all closed together. */
export class Windows {
  readonly #ports: MessagePort[] = []

  /** `person`: who is signed in there, where there is one of that name. */
  open(services: Services, role: Role, person = KEEPER.name): Client {
    const port = this.portOf(services, role, person)
    port.start()
    this.#ports.push(port)
    return createORPCClient(new RPCLink({ port }))
  }

  /** The window's end of such a port, for a thread that the window shall live in. */
  portOf(services: Services, role: Role, person = KEEPER.name): MessagePort {
    const { port1, port2 } = new MessageChannel()
    const window = serveWindow(services, role, portWire(port1))
    if (role === 'operator') window.person = services.store.people.named(person)?.id
    port1.onmessage = ({ data }) => window.hear(data)
    port1.addEventListener('close', () => window.closed())
    port1.start()
    this.#ports.push(port1)
    return port2
  }

  close(): void {
    for (const port of this.#ports) port.close()
  }
}

/** Code and sentence of a call that must be refused. */
export async function refusalOf(call: Promise<unknown>): Promise<{ code: string; words: string }> {
  try {
    await call
  } catch (fault) {
    const { code, data } = fault as ORPCError<string, { words?: string }>
    return { code, words: data?.words ?? '' }
  }
  throw new Error('the call was not refused')
}
