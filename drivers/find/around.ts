import type { Clock, StopSignal } from '../../app/base/clock.ts'
import { HISLIP_PORT } from '../../app/buses/hislip.ts'
import { PORTMAP } from '../../app/buses/portmap.ts'
import type { LinkSpec } from '../../app/records/bench.ts'
import { linkWords } from '../../app/records/link-words.ts'
import { listUsbInstruments } from '../link/usb-native.ts'
import { type Announced, type MdnsPlace, type Service, searchMdns } from './mdns.ts'
import { searchVxi11 } from './vxi11-broadcast.ts'

/** A place where an instrument may be reached. It has not been spoken to. */
export interface Sighting {
  readonly link: LinkSpec
  /** What it calls itself, where it told that. */
  readonly name: string
  /** Maker, model, serial number and version as it announced them; empty where it did not. */
  readonly told: string
  /** How it was noticed. */
  readonly by: 'announced' | 'broadcast' | 'plugged-in'
}

export interface Around {
  readonly clock: Clock
  readonly ms: number
  /** Whether those that announce themselves are listened for. */
  readonly announced: boolean
  /** Broadcast addresses of the networks that are asked for VXI-11. */
  readonly networks: readonly string[]
  /** Port of the port mappers, where it is not 111. */
  readonly portmapper?: number | undefined
  readonly place?: MdnsPlace | undefined
  readonly signal?: StopSignal | undefined
}

/**
 * Looks for instruments: those plugged into this computer by the class of their USB interface, those that announce themselves on its
 * networks, and those that answer on the networks named. None of them is spoken to.
 */
export async function lookAround(around: Around): Promise<Sighting[]> {
  const { clock, ms, announced, networks, portmapper, place, signal } = around
  const [heard, hosts, plugged] = await Promise.all([
    announced ? searchMdns({ clock, ms, place, signal }) : [],
    searchVxi11({ clock, ms, networks, port: portmapper, signal }),
    listUsbInstruments(),
  ])
  const asked = hosts.map(
    (host): Sighting => ({ link: vxi11Of(host, portmapper), name: '', told: '', by: 'broadcast' }),
  )
  const usb = plugged.map(
    ({ vendor, product, serial, name }): Sighting => ({
      link: { kind: 'usbtmc', vendor, product, ...(serial !== undefined && { serial }) },
      name,
      told: '',
      by: 'plugged-in',
    }),
  )
  return withoutDoubles([...usb, ...sightingsOf(heard), ...asked])
}

/** Links of what was announced. `_lxi` is a page to look at, no link; what it tells holds for its host's other services. */
export function sightingsOf(heard: readonly Announced[]): Sighting[] {
  const told = new Map(heard.filter(({ service }) => service === 'lxi').map((each) => [each.host, each]))
  return heard.flatMap(({ service, name, host, port, about }): Sighting[] => {
    const more = {
      name,
      told: identityOf(about) || identityOf(told.get(host)?.about ?? {}),
      by: 'announced',
    } as const
    const link = LINKS[service]?.(host, port)
    return link === undefined ? [] : [{ link, ...more }]
  })
}

/** How an instrument that announces a service is reached by it. */
const LINKS: Partial<Record<Service, (host: string, port: number) => LinkSpec>> = {
  hislip: (host, port) => ({ kind: 'hislip', host, port: port || HISLIP_PORT, device: 'hislip0' }),
  'vxi-11': (host) => vxi11Of(host, undefined),
  'scpi-raw': (host, port) => ({ kind: 'tcp', host, port }),
}

/** In the order of an identity (keys of the LXI device specification, from memory). */
function identityOf(about: Readonly<Record<string, string>>): string {
  const parts = ['manufacturer', 'model', 'serialnumber', 'firmwareversion'].map((key) => about[key] ?? '')
  return parts.every((part) => part === '') ? '' : parts.join(',')
}

function vxi11Of(host: string, portmapper: number | undefined): LinkSpec {
  return {
    kind: 'vxi-11',
    host,
    device: 'inst0',
    ...(portmapper !== undefined && portmapper !== PORTMAP.port && { portmapper }),
  }
}

function withoutDoubles(sightings: readonly Sighting[]): Sighting[] {
  const seen = new Set<string>()
  return sightings.filter(({ link }) => {
    const key = `${link.kind} ${linkWords(link)}`
    return seen.has(key) ? false : seen.add(key) !== undefined
  })
}
