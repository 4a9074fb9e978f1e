import { createSocket, type Socket } from 'node:dgram'
import { getEventListeners } from 'node:events'
import makeMdns, { type MulticastDNS } from 'multicast-dns'
import { afterEach, describe, expect, it } from 'vitest'
import { PORTMAP, readMapping } from '../../../app/buses/portmap.ts'
import { readCall, withoutMark, writeReply } from '../../../app/buses/rpc.ts'
import { CORE } from '../../../app/buses/vxi11.ts'
import { sightingsOf } from '../../../drivers/find/around.ts'
import { GROUP, searchMdns } from '../../../drivers/find/mdns.ts'
import { searchVxi11 } from '../../../drivers/find/vxi11-broadcast.ts'
import { RealClock } from '../../../main/station/clocks/real.ts'

/** All of it stays on loopback: the interface is named, and the port is one of our own. */
const LOOPBACK = '127.0.0.1'
const clock = new RealClock()
/** A search ends as soon as it has found what is wanted; this long only where something is broken. */
const LONGEST_MS = 15_000

const open: (() => void)[] = []
afterEach(() => {
  for (const close of open.splice(0)) close()
})

async function freePort(): Promise<number> {
  const socket = createSocket('udp4')
  await new Promise<void>((resolve) => socket.bind(0, LOOPBACK, resolve))
  const { port } = socket.address()
  await new Promise<void>((resolve) => socket.close(() => resolve()))
  return port
}

interface Service {
  name: string
  type: string
  port: number
  txt?: string[]
}

/** A responder that tells in one answer what it is asked for, and the rest only when it is asked for that. */
function responder(port: number, services: readonly Service[]): MulticastDNS {
  const mdns = makeMdns({ ...GROUP, interface: LOOPBACK, port })
  mdns.on('query', ({ questions }) => {
    for (const { name, type } of questions ?? []) {
      for (const each of services) {
        const instance = `${each.name}.${each.type}`
        const target = 'velde-m1-7.local'
        if (type === 'PTR' && name === each.type) mdns.respond([{ name, type: 'PTR', data: instance }])
        if (type === 'SRV' && name === instance)
          mdns.respond([{ name, type: 'SRV', data: { target, port: each.port } }])
        if (type === 'TXT' && name === instance) mdns.respond([{ name, type: 'TXT', data: each.txt ?? [''] }])
        if (type === 'A' && name === target) mdns.respond([{ name, type: 'A', data: '127.0.0.9' }])
      }
    }
  })
  open.push(() => mdns.destroy())
  return mdns
}

describe('searchMdns', () => {
  it('finds what announces itself, asks for what was left out, and makes links of it', async () => {
    const port = await freePort()
    const txt = ['txtvers=1', 'Manufacturer=VELDE', 'Model=M1', 'SerialNumber=7', 'FirmwareVersion=1']
    responder(port, [
      { name: 'Bridge in room 4', type: '_lxi._tcp.local', port: 80, txt },
      { name: 'Bridge in room 4', type: '_hislip._tcp.local', port: 4880 },
      { name: 'Bridge in room 4', type: '_vxi-11._tcp.local', port: 111 },
      { name: 'Bridge in room 4', type: '_scpi-raw._tcp.local', port: 5025 },
      // Of no concern here.
      { name: 'Printer', type: '_ipp._tcp.local', port: 631 },
    ])
    const enough = new AbortController()
    const heard = await searchMdns({
      clock,
      ms: LONGEST_MS,
      place: { interface: LOOPBACK, port },
      signal: enough.signal,
      onHeard: (found) => {
        const whole = found.filter(({ host, service, about }) => {
          return host === '127.0.0.9' && (service !== 'lxi' || about.model !== undefined)
        })
        if (whole.length === 4) enough.abort(new Error('found'))
      },
    })
    expect(heard.map(({ service }) => service).toSorted()).toEqual(['hislip', 'lxi', 'scpi-raw', 'vxi-11'])
    const sightings = sightingsOf(heard).toSorted((a, b) => a.link.kind.localeCompare(b.link.kind))
    const more = { name: 'Bridge in room 4', told: 'VELDE,M1,7,1', by: 'announced' }
    expect(sightings).toEqual([
      { link: { kind: 'hislip', host: '127.0.0.9', port: 4880, device: 'hislip0' }, ...more },
      { link: { kind: 'tcp', host: '127.0.0.9', port: 5025 }, ...more },
      { link: { kind: 'vxi-11', host: '127.0.0.9', device: 'inst0' }, ...more },
    ])
  })

  it('understands an answer that is written by hand from RFC 1035', async () => {
    const port = await freePort()
    const enough = new AbortController()
    const socket = createSocket({ type: 'udp4', reuseAddr: true })
    open.push(() => socket.close())
    await new Promise<void>((resolve) => socket.bind(port, resolve))
    socket.addMembership('224.0.0.251', LOOPBACK)
    socket.setMulticastInterface(LOOPBACK)
    let questions = ''
    socket.on('message', (packet) => {
      // Bit 15 of the flags is set in answers (RFC 1035, 4.1.1): ours and those of others.
      if ((packet[2]! & 0x80) !== 0) return
      questions += packet.toString('latin1')
      socket.send(ANSWER, port, '224.0.0.251')
    })
    const heard = await searchMdns({
      clock,
      ms: LONGEST_MS,
      place: { interface: LOOPBACK, port },
      signal: enough.signal,
      onHeard: (found) => found.length > 0 && enough.abort(new Error('found')),
    })
    expect(heard).toEqual([
      { service: 'scpi-raw', name: 'Ohm', host: '127.0.0.8', port: 5025, about: { model: 'M2' } },
    ])
    for (const label of [
      '\x04_lxi\x04_tcp\x05local\0',
      '\x07_hislip\x04_tcp',
      '\x07_vxi-11\x04_tcp',
      '\x09_scpi-raw\x04_tcp',
    ])
      expect(questions).toContain(label)
  })

  it('ends after its time where nobody is', async () => {
    const port = await freePort()
    expect(await searchMdns({ clock, ms: 50, place: { interface: LOOPBACK, port } })).toEqual([])
  })
})

const u16 = (n: number) => String.fromCharCode(n >> 8, n & 0xff)
const labels = (name: string) =>
  `${name
    .split('.')
    .map((label) => String.fromCharCode(label.length) + label)
    .join('')}\0`
/** Name, type, class IN with the cache-flush bit (RFC 6762, 10.2), time to live 120 s, length, data. */
const record = (name: string, type: number, data: string) =>
  `${labels(name)}${u16(type)}${u16(0x8001)}\0\0\0\x78${u16(data.length)}${data}`
const ANSWER = Buffer.from(
  // Header: id 0, an authoritative answer, no question, four answers.
  `\0\0\x84\0\0\0${u16(4)}\0\0\0\0` +
    record('_scpi-raw._tcp.local', 12, labels('Ohm._scpi-raw._tcp.local')) +
    record('Ohm._scpi-raw._tcp.local', 33, `\0\0\0\0${u16(5025)}${labels('m2.local')}`) +
    record('Ohm._scpi-raw._tcp.local', 16, '\x08model=M2') +
    record('m2.local', 1, '\x7f\0\0\x08'),
  'latin1',
)

describe('searchVxi11', () => {
  /** A port mapper on an address, strict: it answers the one call it is asked, by its number, program and protocol. */
  async function mapper(address: string, port: number, corePort: number): Promise<Socket> {
    const socket = createSocket({ type: 'udp4', reuseAddr: true })
    socket.on('message', (datagram, from) => {
      const call = readCall(datagram)
      if (call?.program !== PORTMAP.program || call.version !== PORTMAP.version) return
      if (call.procedure !== PORTMAP.procedures.getport) return
      const asked = readMapping(call.args)
      const known = asked.program === CORE.program && asked.version === CORE.version && asked.protocol === 6
      const reply = writeReply(call.xid, 'success', (into) => into.uint(known ? corePort : 0))
      // The answer to another question comes first: it is told by its number.
      const stray = writeReply((call.xid + 1) >>> 0, 'success', (into) => into.uint(9))
      socket.send(withoutMark(stray), from.port, from.address)
      socket.send(withoutMark(reply), from.port, from.address)
    })
    await new Promise<void>((resolve) => socket.bind(port, address, resolve))
    open.push(() => socket.close())
    return socket
  }

  it('finds who answers a broadcast, and not who has no such instrument', async () => {
    const port = await freePort()
    // The broadcast address of loopback: what is sent there stays on this computer.
    await mapper('127.255.255.255', port, 1024)
    await mapper(LOOPBACK, port, 0)
    const enough = new AbortController()
    const hosts = await searchVxi11({
      clock,
      ms: LONGEST_MS,
      networks: ['127.255.255.255', LOOPBACK],
      port,
      signal: enough.signal,
      onHeard: () => enough.abort(new Error('found')),
    })
    expect(hosts).toEqual([LOOPBACK])
  })

  it('leaves nothing behind on the signal that ends it, and ends where that was given before', async () => {
    const port = await freePort()
    const stop = new AbortController()
    const search = { clock, networks: [LOOPBACK], port, signal: stop.signal }
    expect(await searchVxi11({ ...search, ms: 1 })).toEqual([])
    expect(getEventListeners(stop.signal, 'abort')).toEqual([])
    stop.abort(new Error('closed'))
    expect(await searchVxi11({ ...search, ms: LONGEST_MS })).toEqual([])
  })

  it('sends nothing where no network is named', async () => {
    expect(await searchVxi11({ clock, ms: LONGEST_MS, networks: [] })).toEqual([])
  })
})
