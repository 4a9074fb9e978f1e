/** Onlookers of a station, on message ports: each asks for what is new, over and over, as a page does. */
import { setTimeout as pause } from 'node:timers/promises'
import { type MessagePort, parentPort } from 'node:worker_threads'
import { createORPCClient } from '@orpc/client'
import { RPCLink } from '@orpc/client/message-port'
import type { ContractRouterClient } from '@orpc/contract'
import { unpackColumns } from '../../app/contract/columns.ts'
import type { Contract } from '../../app/contract/index.ts'

/**
 * Between two questions, ms: twenty then ask 200 times a second. The gate lets onlookers ask 300 times and slows a page that asks more
 * often down; a port, which cannot be slowed, it would end.
 */
const PAUSE_MS = 50

let looks = 0

async function follow(port: MessagePort): Promise<never> {
  port.start()
  const client: ContractRouterClient<Contract> = createORPCClient(new RPCLink({ port }))
  let after = 0
  for (;;) {
    const blob = await client.live.next({ after, backlogS: 60, waitMs: 1000 })
    after = (unpackColumns(await blob.arrayBuffer()).meta as { last: number }).last
    looks += 1
    await pause(PAUSE_MS)
  }
}

parentPort!.on('message', (ports: MessagePort[]) => {
  for (const port of ports) void follow(port)
})
setInterval(() => parentPort!.postMessage(looks), 500)
