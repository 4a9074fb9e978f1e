import type { Clock } from '../../app/base/clock.ts'
import { PORTMAP } from '../../app/buses/portmap.ts'
import { InstrumentError } from '../../app/instruments/faces.ts'
import { said } from '../../app/messages/said.ts'
import type { BenchInstrument } from '../../app/records/bench.ts'
import type { Pace } from '../link/exchange.ts'
import type { Framing } from '../link/framer.ts'
import { hislipConnect } from '../link/hislip.ts'
import { modbusConnect } from '../link/modbus.ts'
import { type SerialAddress, serialConnect } from '../link/serial.ts'
import { tcpConnect } from '../link/tcp.ts'
import { nativeUsb } from '../link/usb-native.ts'
import { usbipOpener } from '../link/usbip.ts'
import { usbtmcConnect } from '../link/usbtmc.ts'
import { visaConnect } from '../link/visa.ts'
import { vxi11Connect } from '../link/vxi11.ts'
import type { Connect } from '../link/wire.ts'
import type { Profile } from './schema.ts'

const CONNECT_MS = 5000

type LinkKind = BenchInstrument['link']['kind']

/** How the instrument is reached: the bench's link over the profile's defaults. */
export function connectTo(spec: BenchInstrument, profile: Profile, clock: Clock): Connect {
  const { link, name: owner } = spec
  const onModbus = link.kind === 'modbus-tcp' || link.kind === 'modbus-rtu'
  if (onModbus !== (profile.registers !== undefined)) {
    const code = onModbus ? 'profile-without-registers' : 'profile-of-registers'
    throw new InstrumentError('refused', owner, said(code, { profile: profile.id }))
  }
  switch (link.kind) {
    case 'tcp':
      return tcpConnect({ host: link.host, port: link.port, connectMs: CONNECT_MS, owner }, clock)
    case 'serial':
      return serialConnect(serialAddress(link, profile, owner), clock)
    case 'hislip':
      return hislipConnect({ ...busAddress(spec, profile), ...link, shared: link.shared === true }, clock)
    case 'vxi-11': {
      const { portmapper = PORTMAP.port, shared = false } = link
      const interrupts = profile.link.serviceRequests
      return vxi11Connect({ ...busAddress(spec, profile), ...link, portmapper, shared, interrupts }, clock)
    }
    case 'usbtmc': {
      const { vendor, product, serial, sharedBy } = link
      const { connectMs, ...common } = busAddress(spec, profile)
      const at = sharedBy === undefined ? '' : `${sharedBy.host}:${sharedBy.port}/`
      const open = sharedBy === undefined ? nativeUsb(clock) : usbipOpener({ ...sharedBy, connectMs }, clock)
      return usbtmcConnect({ ...common, vendor, product, serial, at }, open, clock)
    }
    case 'visa': {
      const { resource, library, shared = false } = link
      return visaConnect({ ...busAddress(spec, profile), resource, library, shared }, clock)
    }
    case 'modbus-tcp': {
      const { host, port, unit } = link
      const inner = tcpConnect({ host, port, connectMs: CONNECT_MS, owner }, clock)
      return modbusConnect(inner, { framing: 'tcp', unit, registers: profile.registers! })
    }
    case 'modbus-rtu': {
      const inner = serialConnect(serialAddress({ ...link, dataBits: 8 }, profile, owner), clock)
      return modbusConnect(inner, { framing: 'rtu', unit: link.unit, registers: profile.registers! })
    }
  }
}

/**
 * The terminator of an instrument that can be asked in messages; undefined for one that only talks, or whose answers end otherwise: it
 * has no place on a bus of messages.
 */
const messageTerminator = ({ framing: { receive }, identity }: Profile): string | undefined =>
  identity.ask !== undefined && typeof receive === 'string' ? receive : undefined

/** Kinds of links over which an instrument of this profile can be reached. */
export function linksOf(profile: Profile): readonly LinkKind[] {
  if (profile.registers !== undefined) return ['modbus-tcp', 'modbus-rtu']
  return ['tcp', 'serial', ...(messageTerminator(profile) === undefined ? [] : IN_MESSAGES)]
}

/** What buses with messages have in common. */
function busAddress(spec: BenchInstrument, profile: Profile) {
  const terminator = messageTerminator(profile)
  if (terminator === undefined) {
    throw new InstrumentError('refused', spec.name, said('not-in-messages', {}))
  }
  return { terminator, connectMs: CONNECT_MS, owner: spec.name }
}

function serialAddress(
  link: Omit<Extract<BenchInstrument['link'], { kind: 'serial' }>, 'kind'>,
  profile: Profile,
  owner: string,
): SerialAddress {
  const { serial } = profile.link
  return {
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
    owner,
  }
}

/** The profile's pace; frames on a serial line with Modbus are at least three and a half characters apart. */
export function paceOf({ link }: BenchInstrument, { timing, link: defaults }: Profile): Pace {
  const { interByteMs, lateMs, gapMs } = timing
  if (link.kind !== 'modbus-rtu') return { interByteMs, lateMs, gapMs }
  // Above 19200 baud a fixed 1.75 ms (Modbus over Serial Line V1.02, 2.5.1.1; from memory); a character is 11 bits.
  const baud = link.baud ?? defaults.serial.baud
  const silentMs = baud > 19_200 ? 1.75 : (3.5 * 11 * 1000) / baud
  return { interByteMs, lateMs, gapMs: Math.max(gapMs, silentMs) }
}

/**
 * The silence that counts as the end of leftovers. In a frame on a serial line nothing tells to which request it belongs:
 * there it is as long as an answer may be late.
 */
export function quietOf({ link }: BenchInstrument, { timing }: Profile): number {
  return link.kind === 'modbus-rtu' ? Math.max(timing.quietMs, timing.lateMs) : timing.quietMs
}

/** Buses whose messages have an end of their own. */
const IN_MESSAGES: readonly LinkKind[] = ['hislip', 'vxi-11', 'usbtmc', 'visa']

/** The framer's settings from the profile's. */
export function framingOf({ link }: Pick<BenchInstrument, 'link'>, profile: Profile): Framing {
  const { framing } = profile
  const { receive, prompt, tokens, handshake, maxBytes, blocks } = framing
  const end: Framing['end'] =
    typeof receive === 'string'
      ? { kind: 'terminator', text: receive }
      : 'length' in receive
        ? { kind: 'length', bytes: receive.length }
        : { kind: 'silence', ms: receive.silenceMs }
  const more = [prompt, handshake?.expect].filter((token) => token !== undefined)
  return {
    end,
    maxBytes,
    blocks,
    tokens: [...new Set([...tokens, ...more])],
    ends: IN_MESSAGES.includes(link.kind),
  }
}
