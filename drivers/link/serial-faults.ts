import { WireFault } from './wire.ts'

/** Says in words that help why a serial port could not be opened or ended. */
export function explainSerial(error: Error, path: string, platform: string): WireFault {
  const text = error.message
  if (/permission denied|EACCES|EPERM/i.test(text)) {
    return new WireFault('permission', permissionSentence(path, platform), {}, error)
  }
  if (/access denied/i.test(text)) {
    return new WireFault(
      'permission',
      `${path}: access denied. Another program has the port open, or its driver hangs: close the other program, or unplug the adapter and plug it in again.`,
      {},
      error,
    )
  }
  if (/no such file|ENOENT|file not found|ENXIO|ENODEV/i.test(text)) {
    return new WireFault(
      'no-such-port',
      `${path} is not there. Is the cable plugged in and the adapter's driver installed? Where the link is set up, the ports that are there now are listed.`,
      {},
      error,
    )
  }
  if (/lock|busy|EBUSY|EAGAIN|temporarily unavailable/i.test(text)) {
    return new WireFault(
      'refused',
      `${path} is held by another program. Close that program.${intruderHint(path)}`,
      {},
      error,
    )
  }
  return new WireFault('lost', `${path}: ${text}`, {}, error)
}

function permissionSentence(path: string, platform: string): string {
  if (platform === 'linux') {
    return `Permission denied: ${path} may be opened by members of the group dialout only. Run \`sudo usermod -a -G dialout $USER\`, then log out and in again.`
  }
  return `Permission denied: ${path} may not be opened by this user. Ask who looks after this computer for access to its serial ports.`
}

/** Programs that grab fresh ports on Linux, named where the port is of the kind they grab. */
export function intruderHint(path: string): string {
  if (/ttyACM/.test(path)) {
    return ' On Linux, ModemManager sends modem commands to new ports of this kind: a udev rule with ENV{ID_MM_DEVICE_IGNORE}="1" for the adapter keeps it away.'
  }
  if (/ttyUSB/.test(path)) {
    return ' On Linux, brltty takes some adapters of this kind: remove it if no braille display is in use.'
  }
  return ''
}
