import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import type { Bath, Meter } from '../../../app/instruments/faces.ts'
import type { LinkSpec } from '../../../app/records/bench.ts'
import { loadProfiles, openInstrument } from '../../../drivers/index.ts'
import { findVisa, visaConnect } from '../../../drivers/link/visa.ts'
import type { Wire, WireFault } from '../../../drivers/link/wire.ts'
import { RealClock } from '../../../main/station/clocks/real.ts'
import { ScaledClock } from '../../../main/station/clocks/scaled.ts'
import { type Lab, startLab } from '../../../simulator/lab.ts'
import { output, pythonWith } from '../../simulator/lab-process.ts'
import { buildStandIn, hasCompiler } from './build.ts'

// The computer's own VISA library is not to be had here: a stand-in is built of C, with the functions and types of the
// specification. Where there is no compiler the tests are left out.
const PYTHON = pythonWith('pyvisa')
const folder = mkdtempSync(join(tmpdir(), 'stillpoint-visa-'))
const library = join(folder, 'libvisa.so')
afterAll(() => rmSync(folder, { recursive: true, force: true }))

const clock = new RealClock()
const never = new AbortController().signal

/** Opens one resource of the stand-in, and keeps what its wire tells. */
async function open(resource: string): Promise<{ wire: Wire; told: string[]; ended: Promise<WireFault> }> {
  const told: string[] = []
  const gone = Promise.withResolvers<WireFault>()
  const connect = visaConnect(
    { resource, library, shared: false, terminator: '\n', connectMs: 2000, owner: 'test' },
    clock,
  )
  const listener = {
    data: (chunk: Uint8Array) => told.push(Buffer.from(chunk).toString('latin1')),
    note: (words: string) => told.push(words),
    serviceRequest: () => undefined,
    closed: (fault: WireFault) => gone.resolve(fault),
  }
  return { wire: await connect(listener, never), told, ended: gone.promise }
}

describe.skipIf(!hasCompiler)('a VISA library in a process of its own', () => {
  let lab: Lab
  beforeAll(async () => {
    buildStandIn(folder)
    lab = await startLab({ seed: 3, clock: new ScaledClock(200) })
  })
  afterAll(() => lab?.close())

  const linkTo = (id: string): LinkSpec => {
    const { link } = lab.endpoints.find((each) => each.id === id)!
    if (link.kind !== 'tcp') throw new Error('the lab answers on lines')
    return { kind: 'visa', resource: `TCPIP0::127.0.0.1::${link.port}::INSTR`, library }
  }

  it('is a link like the others: a bridge measures and a bath takes its setpoint', async () => {
    const profiles = await loadProfiles()
    const spec = (id: string) => {
      const { name, profile } = lab.bench.instruments.find((each) => each.id === id)!
      return { id, name, profile, link: linkTo(id) }
    }
    const bridge = openInstrument({ spec: spec('bridge'), clock, profiles, atOnce: true }) as Meter
    expect((await bridge.open()).model).toBe('RB-8')
    const measured = await bridge.measure({ input: 2, currentMa: 1, average: 1 })
    expect(measured.marks).toEqual([])
    expect(Number(measured.value)).toBeGreaterThan(0.1)
    expect(bridge.status.faults).toBe(0)
    await bridge.close()
    const bath = openInstrument({ spec: spec('bath'), clock, profiles, atOnce: true }) as Bath
    await bath.open()
    await bath.setSetpoint(31.5)
    expect((await bath.readSetpoint()).value).toBe('31.500')
    await expect(bath.setSetpoint(1000)).rejects.toThrow(/outside the limits/)
    expect(bath.status.faults).toBe(0)
    await bath.close()
  })

  it("sends a profile's trigger as viAssertTrigger, in its turn", async () => {
    const { wire, told } = await open((linkTo('bridge') as { resource: string }).resource)
    expect(await wire.clear!()).toBe('done')
    wire.write('*CLS\n')
    wire.trigger!('this line is not sent')
    wire.write('SYST:ERR?\n', 2000)
    // The bridge has no trigger and says so of what came; of a line it would have quoted another error.
    await vi.waitFor(() => expect(told.join('')).toMatch(/-113,"Undefined header/), 10_000)
    wire.destroy()
  })

  it('lists what it knows', async () => {
    expect(await findVisa(clock, library)).toEqual(['GPIB0::5::INSTR', 'TCPIP0::127.0.0.1::5301::INSTR'])
  })

  it('names the lock of another program, and what it does not know', async () => {
    await expect(open('FAULT::LOCKED')).rejects.toMatchObject({
      code: 'refused',
      message: expect.stringMatching(/locked by another program \(viLock: Resource is locked\)/),
    })
    await expect(open('GPIB0::9::INSTR')).rejects.toMatchObject({ code: 'no-such-port' })
  })

  it('is refused in words where there is none', async () => {
    await expect(findVisa(clock, join(folder, 'nothing.so'))).rejects.toMatchObject({
      code: 'refused',
      message: expect.stringMatching(/No VISA library can be loaded/),
    })
  })

  it.each([
    ['FAULT::HANG', /does not come back from "read"/],
    ['FAULT::CRASH', /ended by itself \(SIG\w+\)/],
  ])('costs the link of %s and nothing else', async (resource, words) => {
    const other = await open(`${(linkTo('scanner') as { resource: string }).resource}`)
    const bad = await open(resource)
    expect(await bad.wire.clear!()).toBe('done')
    bad.wire.write('*IDN?\n', 100)
    expect((await bad.ended).message).toMatch(words)
    // A new process takes its place at once, and the other link has noticed nothing.
    const again = await open(resource)
    again.wire.destroy()
    expect(await other.wire.clear!()).toBe('done')
    other.wire.destroy()
  })

  it('tells a device clear that the interface does not know from one that failed', async () => {
    const { wire } = await open('FAULT::SHORT')
    expect(await wire.clear!()).toBe('unsupported')
    wire.destroy()
  })

  it.skipIf(!PYTHON)('has the functions that a client which nobody here wrote calls', async () => {
    const { resource } = linkTo('scanner') as { resource: string }
    const script = `
import pyvisa, sys
manager = pyvisa.ResourceManager(sys.argv[1])
print(manager.list_resources())
session, status = manager.visalib.open(manager.session, sys.argv[2])
manager.visalib.clear(session)
manager.visalib.write(session, b'*IDN?\\n')
print(manager.visalib.read(session, 100)[0].decode().strip())
`
    const text = await output(PYTHON!, ['-c', script, library, resource])
    expect(text.trim().split('\n')).toEqual([
      "('GPIB0::5::INSTR', 'TCPIP0::127.0.0.1::5301::INSTR')",
      'QUENNICK,CS-16,1604,2.0',
    ])
  })
})
