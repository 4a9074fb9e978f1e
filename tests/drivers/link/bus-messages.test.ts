import { afterEach, describe, expect, it } from 'vitest'
import { hislipConnect } from '../../../drivers/link/hislip.ts'
import { usbipOpener } from '../../../drivers/link/usbip.ts'
import { vxi11Connect } from '../../../drivers/link/vxi11.ts'
import type { WireListener } from '../../../drivers/link/wire.ts'
import { VirtualClock } from '../../../main/station/clocks/virtual.ts'
import { HislipDevice } from '../../../simulator/buses/hislip-device.ts'
import { HislipServer } from '../../../simulator/buses/hislip-server.ts'
import { LAB_PRODUCT, LAB_VENDOR } from '../../../simulator/buses/usb-descriptors.ts'
import { UsbipServer } from '../../../simulator/buses/usbip-server.ts'
import { UsbtmcDevice } from '../../../simulator/buses/usbtmc-device.ts'
import { Vxi11Device } from '../../../simulator/buses/vxi11-device.ts'
import { Vxi11Server } from '../../../simulator/buses/vxi11-server.ts'
import { FaultDesk } from '../../../simulator/faults/desk.ts'
import type { PortEvents } from '../../../simulator/instruments/port.ts'
import { randomStream } from '../../../simulator/physics/randomness.ts'

const HOST = '127.0.0.1'
const LISTENER: WireListener = {
  data: () => undefined,
  closed: () => undefined,
  note: () => undefined,
  serviceRequest: () => undefined,
}
const never = new AbortController().signal
const open: (() => void | Promise<void>)[] = []
afterEach(async () => {
  for (const close of open.splice(0).reverse()) await close()
})

/** An instrument that keeps what it hears, and answers each line with how many characters it had. */
function listening(answer: (text: string) => void) {
  const clock = new VirtualClock({ startUtcUs: 0 })
  open.push(() => clock.stop())
  const heard: string[] = []
  const events: PortEvents = {
    onBytes: (bytes) => {
      heard.push(bytes.toString('latin1'))
      if (bytes.at(-1) === 0x0a) answer(heard.join(''))
    },
    onGone: () => undefined,
    isAnswerDue: () => false,
    onClear: () => undefined,
    onTrigger: () => undefined,
    onInterrupted: () => undefined,
    statusByte: () => 0,
  }
  return { clock, heard, events, desk: new FaultDesk(clock, randomStream(1, 'listening'), []) }
}

describe('a message longer than one part', () => {
  const long = (count: number) => `${'0123456789'.repeat(count / 10).slice(0, count - 1)}\n`

  it('comes whole over VXI-11, each part once', async () => {
    const done: (() => void)[] = []
    const { clock, heard, events, desk } = listening(() => done.shift()?.())
    const device = new Vxi11Device(['inst0'], clock, desk, events)
    const server = new Vxi11Server(HOST, clock)
    server.add(device)
    await device.open()
    await server.open({ core: 0, portmapper: 0 })
    open.push(() => server.close())
    const wire = await vxi11Connect(
      {
        ...{ host: HOST, portmapper: server.portmapper, device: 'inst0', shared: true, interrupts: false },
        ...{ terminator: '\n', connectMs: 1000, owner: 'x' },
      },
      clock,
    )(LISTENER, never)
    open.push(() => wire.destroy())
    const text = long(150_000)
    await new Promise<void>((resolve) => {
      done.push(resolve)
      wire.write(text)
      // Parts that come again and again are heard as more than there is.
      clock.after(60_000, resolve)
    })
    expect(heard.map(({ length }) => length)).toEqual([65_536, 65_536, 18_928])
    expect(heard.join('') === text).toBe(true)
  })

  it.each([2 ** 20 - 17, 2 ** 20 - 16, 2 ** 20 - 15])(
    'comes whole over HiSLIP with %i characters, and nothing after it',
    async (count) => {
      const { clock, heard, events, desk } = listening(() => undefined)
      const device: HislipDevice = new HislipDevice('hislip0', clock, desk, events)
      const server = new HislipServer(HOST)
      server.add(device)
      await device.open()
      await server.open(0)
      open.push(() => server.close())
      const wire = await hislipConnect(
        {
          ...{ host: HOST, port: server.port, device: 'hislip0', shared: true },
          ...{ terminator: '\n', connectMs: 1000, owner: 'x' },
        },
        clock,
      )(LISTENER, never)
      open.push(() => wire.destroy())
      wire.write(long(count))
      wire.write('END\n')
      while (!heard.at(-1)?.endsWith('END\n')) await new Promise((resolve) => setImmediate(resolve))
      expect(heard.join('') === `${long(count)}END\n`).toBe(true)
    },
  )
})

describe('a device over USB/IP', () => {
  it('takes back what waits on one endpoint, and nothing else', async () => {
    const { clock, events, desk } = listening(() => undefined)
    const there = new UsbtmcDevice('7', desk, events)
    const server = new UsbipServer(HOST)
    server.add(there)
    await there.open()
    await server.open(0)
    open.push(() => server.close())
    const device = await usbipOpener({ host: HOST, port: server.port, connectMs: 1000 }, clock)(
      { vendor: LAB_VENDOR, product: LAB_PRODUCT, serial: '7' },
      { closed: () => undefined },
      never,
    )
    open.push(() => device.close())
    const { bulkIn, interruptIn } = device.tmc
    const notice = device.receive(interruptIn!, 2)
    const answer = device.receive(bulkIn, 512)
    await device.cancel(bulkIn)
    expect(await answer).toBeUndefined()
    there.bus.requestService(64)
    // SRQ of USB488 1.0, 3.4.1 (number from memory): 81 hex and the status byte.
    expect([...(await notice)!]).toEqual([0x81, 64])
  })
})
