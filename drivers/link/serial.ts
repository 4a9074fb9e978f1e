import { SerialPort } from 'serialport'
import type { Clock, Disposable, StopSignal } from '../../app/base/clock.ts'
import { said } from '../../app/messages/said.ts'
import { isTaken, takeAddress } from './owners.ts'
import { explainSerial } from './serial-faults.ts'
import { candidatePaths, listSerialPorts, type SerialPortInfo } from './serial-ports.ts'
import { watchGone } from './serial-watch.ts'
import { type ByteWire, type ConnectBytes, WireFault, type WireListener } from './wire.ts'

export interface SerialAddress {
  readonly path: string
  readonly usbSerial?: string | undefined
  readonly baud: number
  readonly dataBits: 7 | 8
  readonly parity: 'none' | 'even' | 'odd'
  readonly stopBits: 1 | 2
  readonly flow: 'none' | 'rtscts' | 'xonxoff'
  /** Lines as they shall stand after opening; some instruments reset when DTR rises. */
  readonly dtr: boolean
  readonly rts: boolean
  /** Wait after opening before anything is sent. */
  readonly afterOpenMs: number
  readonly openMs: number
  readonly owner: string
}

/** Opens serial ports, a new port object for each attempt, and follows the adapter when its name changes. */
export function serialConnect(
  address: SerialAddress,
  clock: Clock,
  list: () => Promise<SerialPortInfo[]> = listSerialPorts,
): ConnectBytes {
  let usbSerial = address.usbSerial
  let kind: { vendorId?: string | undefined; productId?: string | undefined } = {}
  let seenBefore: ReadonlySet<string> | undefined
  let attempt = 0

  return async (listener, signal) => {
    // Others list and open ports, in their own time: time that jumps waits for them.
    const opening = `opening ${address.path}`
    clock.freight?.join(opening)
    clock.freight?.left(opening, 'station', 1)
    const opened = () => clock.freight?.leave(opening)
    try {
      // A system that cannot list its ports can still open one by its name.
      const ports = await list().catch(() => [])
      seenBefore ??= new Set(ports.map((port) => port.path))
      const paths = candidatePaths(address.path, { usbSerial, ...kind }, seenBefore, ports).filter(
        (path) => path === address.path || !isTaken(`serial:${path}`),
      )
      // One candidate per attempt, in turn: whoever connects asks for the identity and comes back if it is another's.
      const path = paths[attempt++ % paths.length] ?? address.path
      const wire = await openPort(address, path, listener, signal, clock, opened)
      const info = ports.find((port) => port.path === path)
      usbSerial ??= info?.usbSerial
      kind = { vendorId: info?.vendorId, productId: info?.productId }
      seenBefore = new Set(ports.filter((port) => port.path !== path).map((port) => port.path))
      return wire
    } finally {
      opened()
    }
  }
}

function openPort(
  address: SerialAddress,
  path: string,
  listener: WireListener,
  signal: StopSignal,
  clock: Clock,
  opened: () => void,
): Promise<ByteWire> {
  return new Promise((resolve, reject) => {
    const release = takeAddress(`serial:${path}`, address.owner)
    const port = new SerialPort({
      path,
      baudRate: address.baud,
      dataBits: address.dataBits,
      parity: address.parity,
      stopBits: address.stopBits,
      rtscts: address.flow === 'rtscts',
      xon: address.flow === 'xonxoff',
      xoff: address.flow === 'xonxoff',
      autoOpen: false,
    })
    let phase: 'opening' | 'open' | 'over' = 'opening'
    let watching: Disposable | undefined
    const finish = (fault: WireFault | undefined) => {
      if (phase === 'over') return
      const before = phase
      phase = 'over'
      clock.freight?.leave(path)
      deadline.dispose()
      watching?.dispose()
      signal.removeEventListener('abort', onAbort)
      shut(port, release)
      if (fault === undefined) return
      if (before === 'opening') reject(fault)
      else listener.closed(fault)
    }
    const onAbort = () => finish(new WireFault('lost', said('opening-given-up', { path })))
    const deadline = clock.after(address.openMs, () =>
      finish(new WireFault('lost', said('port-did-not-open', { path, openMs: address.openMs }))),
    )
    signal.addEventListener('abort', onAbort)
    port.on('error', (error) => finish(explainSerial(error, path, process.platform)))
    port.on('close', (error: Error | null) =>
      finish(
        new WireFault(
          'lost',
          said('port-gone-because', { path, said: error?.message ? ` (${error.message})` : '' }),
        ),
      ),
    )
    // Attached before opening: an unplug is noticed only while a read is pending.
    port.on('data', (chunk: Buffer) => {
      clock.freight?.came(path, 'station', chunk.length)
      if (phase === 'open') listener.data(chunk)
    })
    port.open((error) => {
      if (phase !== 'opening') return
      if (error !== null) return finish(explainSerial(error, path, process.platform))
      setLines(port, address, () => {
        opened()
        const ready = () => {
          if (phase !== 'opening') return
          phase = 'open'
          clock.freight?.join(path)
          watching = watchGone(path, () => finish(new WireFault('lost', said('port-gone', { path }))))
          deadline.dispose()
          signal.removeEventListener('abort', onAbort)
          resolve({
            write: (bytes) => {
              if (phase !== 'open' || !port.isOpen) return
              clock.freight?.left(path, 'instrument', bytes.length)
              if (typeof bytes === 'string') port.write(bytes, 'latin1')
              else port.write(bytes)
            },
            destroy: () => finish(undefined),
          })
        }
        if (address.afterOpenMs > 0) clock.after(address.afterOpenMs, ready)
        else ready()
      })
    })
  })
}

/** Sets DTR and RTS. A port without modem lines (a pseudo-terminal, some adapters) refuses; that is no fault. */
function setLines(port: SerialPort, address: SerialAddress, done: () => void): void {
  const lines = address.flow === 'rtscts' ? { dtr: address.dtr } : { dtr: address.dtr, rts: address.rts }
  port.set(lines, () => done())
}

/** Ends a port in whatever state; the address is free only once the system has let go of it. */
function shut(port: SerialPort, release: () => void): void {
  port.removeAllListeners()
  // An error after the end concerns nobody, but an event without a listener would end the process.
  port.on('error', () => release())
  port.on('close', release)
  if (port.isOpen) port.close(() => release())
  else if (port.opening) port.once('open', () => port.close(() => release()))
  else release()
}
