import type { Clock } from '../../app/base/clock.ts'
import type { BenchInstrument } from '../../app/records/bench.ts'
import type { Framing } from '../link/framer.ts'
import { serialConnect } from '../link/serial.ts'
import { tcpConnect } from '../link/tcp.ts'
import type { Connect } from '../link/wire.ts'
import type { Profile } from './schema.ts'

const CONNECT_MS = 5000

/** How the instrument is reached: the bench's link over the profile's defaults. */
export function connectTo(spec: BenchInstrument, profile: Profile, clock: Clock): Connect {
  const { link } = spec
  if (link.kind === 'tcp') {
    return tcpConnect({ host: link.host, port: link.port, connectMs: CONNECT_MS, owner: spec.name }, clock)
  }
  const { serial } = profile.link
  return serialConnect(
    {
      path: link.path,
      usbSerial: link.usbSerial,
      baud: link.baud ?? serial.baud,
      dataBits: link.dataBits ?? serial.dataBits,
      parity: link.parity ?? serial.parity,
      stopBits: link.stopBits ?? serial.stopBits,
      flow: serial.flow,
      dtr: serial.dtr,
      rts: serial.rts,
      afterOpenMs: serial.afterOpenMs,
      openMs: CONNECT_MS,
      owner: spec.name,
    },
    clock,
  )
}

/** The framer's settings from the profile's. */
export function framingOf(profile: Profile): Framing {
  const { framing } = profile
  const { receive, prompt, tokens, handshake, maxBytes, blocks } = framing
  const end: Framing['end'] =
    typeof receive === 'string'
      ? { kind: 'terminator', text: receive }
      : 'length' in receive
        ? { kind: 'length', bytes: receive.length }
        : { kind: 'silence', ms: receive.silenceMs }
  const more = [prompt, handshake?.expect].filter((token) => token !== undefined)
  return { end, maxBytes, blocks, tokens: [...new Set([...tokens, ...more])] }
}
