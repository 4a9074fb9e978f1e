import { spawn } from 'node:child_process'
import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'
import { RealClock } from '../../main/station/clocks/real.ts'
import { startLab } from '../../simulator/lab.ts'

const command = fileURLToPath(new URL('../../main/host/stillpoint.mjs', import.meta.url))

function stillpoint(...args: string[]): Promise<{ status: number | null; out: string }> {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, [command, ...args])
    let out = ''
    for (const stream of [child.stdout, child.stderr]) stream.on('data', (chunk) => (out += String(chunk)))
    child.on('close', (status) => resolve({ status, out }))
  })
}

describe('find', () => {
  it('notices what has VXI-11 on a network that is named, asks it when told to, and knows its profile', async () => {
    const lab = await startLab({ seed: 1, clock: new RealClock(), scenario: 'demo', bus: 'vxi-11' })
    const link = lab.bench.instruments.map((each) => each.link).find(({ kind }) => kind === 'vxi-11')!
    const port = link.kind === 'vxi-11' ? String(link.portmapper) : ''
    const around = [
      'find',
      '--no-announced',
      '--network',
      '127.0.0.1',
      '--portmapper',
      port,
      '--seconds',
      '1',
    ]
    try {
      const quiet = await stillpoint(...around)
      expect(quiet).toMatchObject({
        status: 0,
        out: expect.stringContaining(`VXI-11 127.0.0.1:${port} inst0`),
      })
      expect(quiet.out).not.toContain('QUENNICK')
      const asked = await stillpoint(...around, '--ask')
      expect(asked.out).toMatch(/QUENNICK,[\w-]+,\w*,[\d.]+: lab-[\w-]+/)
    } finally {
      await lab.close()
    }
  })
})
