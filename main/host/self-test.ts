import { setTimeout as pause } from 'node:timers/promises'
import { createORPCClient } from '@orpc/client'
import { RPCLink } from '@orpc/client/message-port'
import type { ContractRouterClient } from '@orpc/contract'
import type { Contract } from '../../app/contract/index.ts'
import { portWindows } from './router/index.ts'
import type { Services } from './services.ts'

/** Readings that are enough, and how long they may take, ms. */
const READINGS = 5
const MOST_MS = 90_000
const LOOK_MS = 500

/**
 * What an installed program shows of itself: finds its profiles, opens the lab in a box, records, stops, verifies the
 * record, writes its report as HTML and PDF with its own fonts, and exports a table in a thread. All of it through the
 * contract, as a window would. Resolves with one sentence; rejects with what failed.
 */
export async function selfTest(services: Services): Promise<string> {
  const { port1, port2 } = new MessageChannel()
  portWindows(services)({
    on: (event: 'message' | 'close', listener: (event: { data: unknown }) => void) =>
      port1.addEventListener(event, listener as unknown as EventListener),
    postMessage: (data) => port1.postMessage(data),
    close: () => port1.close(),
  })
  port1.start()
  port2.start()
  const core: ContractRouterClient<Contract> = createORPCClient(new RPCLink({ port: port2 }))
  try {
    const { rows: profiles } = await core.bench.profiles()
    need(profiles.length > 5, `${profiles.length} profiles were found`)
    await core.bench.startLab({ seed: 4 })
    const links = await core.bench.connect()
    need(links.length > 0, 'no link was opened')
    const { session } = await core.run.record({ name: 'Self-test' })
    await until(async () => (await core.archive.open({ session })).readings >= READINGS, 'readings')
    await core.run.stop({ why: 'enough' })
    await until(async () => (await core.archive.open({ session })).info.endedUtcUs !== null, 'the end')
    const { whole, words, readings } = await core.archive.verify({ session })
    need(whole, words)
    const pdf = Buffer.from(await (await core.points.reportPdf({ session })).arrayBuffer())
    need(pdf.subarray(0, 5).toString() === '%PDF-' && pdf.includes('Roboto'), 'the PDF lacks its fonts')
    const html = Buffer.from(await (await core.archive.export({ session, format: 'html' })).arrayBuffer())
    need(html.includes('font/woff2'), 'the HTML report lacks its fonts')
    const table = await core.archive.export({ session, format: 'csv' })
    need(table.size > 0, 'the table is empty')
    return `Self-test passed: ${profiles.length} profiles, ${links.length} links, ${readings} readings recorded and verified, PDF of ${pdf.length} bytes.`
  } finally {
    port1.close()
    port2.close()
  }
}

function need(holds: boolean, words: string): void {
  if (!holds) throw new Error(`Self-test failed: ${words}.`)
}

async function until(holds: () => Promise<boolean>, what: string): Promise<void> {
  const last = performance.now() + MOST_MS
  while (!(await holds())) {
    need(performance.now() < last, `${what} did not come within ${MOST_MS / 1000} s`)
    await pause(LOOK_MS)
  }
}
