import { mkdtempSync, rmSync } from 'node:fs'
import { createServer, type Server } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import type { ElectronParts } from '../../main/desktop/parts.ts'
import type { VisaWish } from '../../main/desktop/visa-channels.ts'
import { VisaProcesses } from '../../main/desktop/visa-processes.ts'
import { buildStandIn, hasCompiler } from '../drivers/visa/build.ts'
import { StandInChannel, StandInUtilityProcess } from './stand-in.ts'

interface Told {
  kind: 'told'
  resource: string
  what: string
  words: string
}

const folder = mkdtempSync(join(tmpdir(), 'stillpoint-desktop-visa-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

describe.skipIf(!hasCompiler)('a VISA library of the desktop program', () => {
  let library: string
  let instrument: Server
  let core: StandInUtilityProcess
  let processes: StandInUtilityProcess[]
  let visa: VisaProcesses
  const told: Told[] = []
  const of = (resource: string, what: string) =>
    told.filter((each) => each.resource === resource && each.what === what).map(({ words }) => words)
  const ask = (resource: string) => core.postMessage({ kind: 'open', library, resource })
  let there: string

  beforeAll(async () => {
    library = buildStandIn(folder)
    instrument = createServer((socket) => {
      socket.on('error', () => undefined)
      socket.on('data', () => socket.write('QUENNICK,RB-8,0817,1.3\n'))
    })
    await new Promise<void>((resolve) => instrument.listen(0, '127.0.0.1', resolve))
    there = `TCPIP0::127.0.0.1::${(instrument.address() as { port: number }).port}::INSTR`
    processes = []
    const electron = {
      MessageChannelMain: StandInChannel,
      utilityProcess: {
        fork: (script: string, args: string[], options: Electron.ForkOptions) => {
          const child = new StandInUtilityProcess(script, args, options)
          processes.push(child)
          return child
        },
      },
    } as unknown as ElectronParts
    core = new StandInUtilityProcess(join(import.meta.dirname, 'visa-core.ts'), [])
    const script = join(import.meta.dirname, '../../drivers/link/visa-process.ts')
    visa = new VisaProcesses(electron, script, () => ({
      tell: (message, ports) => core.postMessage(message, ports as never),
    }))
    core.on('message', (message: VisaWish | Told) => {
      if (message.kind === 'start-visa') visa.start(message.id)
      else if (message.kind === 'end-visa') visa.end(message.id)
      else told.push(message)
    })
  })
  afterAll(() => {
    core?.kill()
    visa?.endAll()
    instrument?.close()
  })

  it('answers through a process that the shell starts, since the program does not run as Node', async () => {
    ask(there)
    await vi.waitFor(() => expect(of(there, 'answer')).toEqual(['QUENNICK,RB-8,0817,1.3']), 20_000)
    expect(processes).toHaveLength(1)
  }, 30_000)

  it.each([
    ['FAULT::HANG', /does not come back from "read"/],
    ['FAULT::CRASH', /ended by itself \(\d+\)/],
  ])(
    'loses the link of %s alone when the library goes wrong',
    async (resource, words) => {
      const before = processes.length
      ask(resource)
      await vi.waitFor(() => expect(of(resource, 'closed')[0]).toMatch(words), 20_000)
      // A process whose library hangs takes no signal but the last one, and does not stay.
      await vi.waitFor(() => expect(processes[before]!.pid).toBeUndefined(), 10_000)
      expect(of(there, 'closed')).toEqual([])
      expect(processes[0]!.pid).toBeGreaterThan(0)
    },
    40_000,
  )

  it('is named in words where there is none', async () => {
    core.postMessage({ kind: 'open', library: join(folder, 'nothing.so'), resource: 'GPIB0::7::INSTR' })
    await vi.waitFor(
      () => expect(of('GPIB0::7::INSTR', 'refused')[0]).toMatch(/No VISA library can be loaded/),
      20_000,
    )
  }, 30_000)

  it('ends with the core that had it', async () => {
    core.kill()
    await vi.waitFor(
      () => expect(processes.map(({ pid }) => pid)).toEqual(processes.map(() => undefined)),
      15_000,
    )
  }, 30_000)
})
