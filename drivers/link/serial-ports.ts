import { readdirSync } from 'node:fs'
import { SerialPort } from 'serialport'

/** A serial port of this computer, as far as the system knows it. */
export interface SerialPortInfo {
  readonly path: string
  readonly usbSerial?: string
  readonly maker?: string
  readonly vendorId?: string
  readonly productId?: string
}

/**
 * The adapter's own serial number. To one that has none Windows gives a name of the socket it sits in, which holds an `&`
 * and changes with the socket (device instance IDs in Microsoft's driver documentation, from memory).
 */
const ownSerial = (text: string | undefined) => (text?.includes('&') ? undefined : text)

/** Names that Linux gives to adapters on USB. */
const ON_USB = /^tty(?:USB|ACM)\d+$/

/** On Linux without udev (a container, say) the names in /dev are all that is known of ports. */
const portsInDev = (): SerialPortInfo[] =>
  readdirSync('/dev')
    .filter((name) => ON_USB.test(name))
    .map((name) => ({ path: `/dev/${name}` }))

/** The serial ports this computer has now. `list` asks the system. */
export async function listSerialPorts(
  list: () => ReturnType<typeof SerialPort.list> = () => SerialPort.list(),
): Promise<SerialPortInfo[]> {
  let ports: Awaited<ReturnType<typeof SerialPort.list>>
  try {
    ports = await list()
  } catch (fault) {
    if ((fault as NodeJS.ErrnoException).code === 'ENOENT') return portsInDev()
    throw fault
  }
  return ports.map((port) => ({
    path: port.path,
    ...(ownSerial(port.serialNumber) === undefined ? {} : { usbSerial: ownSerial(port.serialNumber)! }),
    ...(port.manufacturer === undefined ? {} : { maker: port.manufacturer }),
    ...(port.vendorId === undefined ? {} : { vendorId: port.vendorId }),
    ...(port.productId === undefined ? {} : { productId: port.productId }),
  }))
}

/**
 * Where a port that was known as `path` may be now, likeliest first. A port with the same USB serial number is the same
 * adapter under another name. Without that number, the same kind of adapter, or a port that was not there when the
 * instrument was last seen, is worth asking who it is; ports that were there all along belong to somebody else.
 */
export function candidatePaths(
  path: string,
  known: { usbSerial?: string | undefined; vendorId?: string | undefined; productId?: string | undefined },
  before: ReadonlySet<string>,
  now: readonly SerialPortInfo[],
): string[] {
  const usbSerial = ownSerial(known.usbSerial)
  const bySerial = now.filter((port) => usbSerial !== undefined && port.usbSerial === usbSerial)
  if (bySerial.length > 0) return bySerial.map((port) => port.path)
  const there = now.some((port) => port.path === path)
  const alike = now.filter((port) => {
    if (port.path === path || before.has(port.path)) return false
    if (usbSerial !== undefined && port.usbSerial !== undefined) return false
    return (
      known.vendorId === undefined || (port.vendorId === known.vendorId && port.productId === known.productId)
    )
  })
  const others = alike.map((port) => port.path)
  return there || others.length === 0 ? [path, ...others] : [...others, path]
}
