import { type Said, said } from '../../app/messages/said.ts'
import { WireFault } from './wire.ts'

/** Says in words that help why a serial port could not be opened or ended. */
export function explainSerial(error: Error, path: string, platform: string): WireFault {
  const text = error.message
  if (/permission denied|EACCES|EPERM/i.test(text)) {
    return new WireFault('permission', permissionWords(path, platform), {}, error)
  }
  if (/access denied/i.test(text)) {
    return new WireFault('permission', said('port-access-denied', { path }), {}, error)
  }
  if (/no such file|ENOENT|file not found|ENXIO|ENODEV/i.test(text)) {
    return new WireFault('no-such-port', said('no-such-port', { path }), {}, error)
  }
  if (/lock|busy|EBUSY|EAGAIN|temporarily unavailable/i.test(text)) {
    return new WireFault('refused', said('port-held', { path, hint: intruderHint(path) ?? '' }), {}, error)
  }
  return new WireFault('lost', said('port-trouble', { path, text }), {}, error)
}

const permissionWords = (path: string, platform: string): Said =>
  platform === 'linux' ? said('port-of-dialout', { path }) : said('port-not-permitted', { path })

/** Programs that grab fresh ports on Linux, named where the port is of the kind they grab. */
export function intruderHint(path: string): Said | undefined {
  if (/ttyACM/.test(path)) return said('intruder-modem', { rule: '{ID_MM_DEVICE_IGNORE}' })
  if (/ttyUSB/.test(path)) return said('intruder-braille', {})
  return undefined
}
