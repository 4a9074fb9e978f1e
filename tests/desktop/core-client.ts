import { createORPCClient } from '@orpc/client'
import { RPCLink } from '@orpc/client/message-port'
import type { ContractRouterClient } from '@orpc/contract'
import type { Contract } from '../../app/contract/index.ts'
import type { Shell } from '../../main/desktop/shell.ts'
import type { StandIn } from './stand-in.ts'

type CoreClient = ContractRouterClient<Contract>

/** A window by code on the shell's core, for as long as `act` takes. */
export async function withCore<T>(
  stand: StandIn,
  shell: Shell,
  act: (core: CoreClient) => Promise<T>,
): Promise<T> {
  const { port1, port2 } = new MessageChannel()
  const channel = new stand.electron.MessageChannelMain()
  shell.core.connect(channel.port1)
  const near = channel.port2 as unknown as {
    carryTo(deliver: (data: unknown) => void): void
    other: { receive(data: unknown): void }
  }
  near.carryTo((data) => port1.postMessage(data))
  port1.onmessage = ({ data }) => near.other.receive(data)
  port2.start()
  try {
    return await act(createORPCClient(new RPCLink({ port: port2 })))
  } finally {
    port1.close()
    port2.close()
  }
}
