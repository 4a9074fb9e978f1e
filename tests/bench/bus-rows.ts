import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { existsSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import type { LinkSpec } from '../../app/records/bench.ts'
import { connectTo } from '../../drivers/profile/reach.ts'
import { Profile } from '../../drivers/profile/schema.ts'
import { type BareBus, bareBus } from './bare-buses.ts'
import { clock, compare, type Loop, lineProfile, openLink, ourLoop, row } from './loops.ts'
import type { Row } from './row.ts'

const registerProfile = Profile.parse({
  ...lineProfile,
  language: 'plain',
  registers: { value: { table: 'input', address: 0, type: 'float32' } },
  commands: {
    fetch: {
      doc: 'The number.',
      send: 'value?',
      risk: 'read-only',
      answer: { kind: 'value', unit: 'ratio', pattern: '^(?<value>\\S+) \\[[0-9A-F]{4} [0-9A-F]{4}\\]$' },
    },
  },
})

/** Buses that have a row. */
export const BENCH_BUSES = ['hislip', 'vxi-11', 'usbtmc', 'modbus', 'modbus-rtu'] as const
export type BenchBus = (typeof BENCH_BUSES)[number]

/** The least a program can do on a bus: its packets, and the number out of the answer. No deadline, no queue. */
function bareBusLoop({ port, question, hear }: BareBus): Loop {
  return (ms) =>
    new Promise((resolve, reject) => {
      const start = performance.now()
      let count = 0
      const onData = (chunk: Buffer) => {
        const next = hear(chunk)
        if (next === undefined) return
        if (typeof next !== 'number') {
          port.write(next)
          return
        }
        if (Number.isNaN(next)) reject(new Error('not a number'))
        count++
        if (count % 10 === 0 && performance.now() - start >= ms) {
          port.off('data', onData)
          resolve({ count, ms: performance.now() - start })
        } else port.write(question)
      }
      port.on('data', onData)
      port.write(question)
    })
}

/** A bus of the lab in a process of its own: our link to one instrument, the bare loop to its neighbour. */
export async function overBus(bus: BenchBus): Promise<Row> {
  const name = `exchanges over ${bus}: link, queue, deadline, parse`
  if (bus === 'modbus-rtu' && !existsSync('/usr/bin/socat')) {
    const note = 'not measured: socat, which makes pairs of ports, is not installed'
    return { name, ours: 0, other: 0, unit: 'per s', ratio: 0, goal: '>= 0.9', met: null, note }
  }
  const script = fileURLToPath(new URL('./bus-peer.ts', import.meta.url))
  const peer = spawn(process.execPath, [script, bus], { stdio: ['ignore', 'pipe', 'inherit'] })
  const [said] = (await once(peer.stdout!, 'data')) as [Buffer]
  const [ours, other] = JSON.parse(String(said)) as [LinkSpec, LinkSpec]
  const described = bus === 'modbus' || bus === 'modbus-rtu' ? registerProfile : lineProfile
  const spec = { id: 'bench', name: 'bench', profile: 'bench', link: ours }
  const { link, speaker } = await openLink(connectTo(spec, described, clock), described, ours)
  const bare = await bareBus(other)
  try {
    const got = await compare(ourLoop(link, speaker, bus === 'modbus-rtu' ? 10 : 50), bareBusLoop(bare))
    return row(name, got, 'bare loop of its packets', 0.9)
  } finally {
    await link.close()
    bare.port.destroy()
    peer.kill()
  }
}
