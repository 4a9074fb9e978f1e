import type { LinkSpec } from './bench.ts'

/** What each kind of link is called. */
export const LINK_KIND_WORDS: Readonly<Record<LinkSpec['kind'], string>> = {
  tcp: 'Network socket',
  serial: 'Serial port',
  hislip: 'HiSLIP',
  'vxi-11': 'VXI-11',
  'modbus-tcp': 'Modbus TCP',
  'modbus-rtu': 'Modbus RTU',
}

/** Where an instrument is reached, as people read it and as two links are told apart. */
export function linkWords(link: LinkSpec): string {
  switch (link.kind) {
    case 'tcp':
      return `${link.host}:${link.port}`
    case 'serial':
      return link.path
    case 'hislip':
      return `${link.host}:${link.port} ${link.device}`
    case 'vxi-11': {
      const mapper = link.portmapper === undefined ? '' : `:${link.portmapper}`
      return `${link.host}${mapper} ${link.device}`
    }
    case 'modbus-tcp':
      return `${link.host}:${link.port} unit ${link.unit}`
    case 'modbus-rtu':
      return `${link.path} unit ${link.unit}`
  }
}

/**
 * The address as other clients of instruments write it (resource strings of VPP-4.3, from memory). A port mapper that is
 * not at its own port has no place in such a string; Modbus has none.
 */
export function resourceOf(link: LinkSpec): string | undefined {
  switch (link.kind) {
    case 'tcp':
      return `TCPIP::${link.host}::${link.port}::SOCKET`
    case 'serial':
      return `ASRL${link.path}::INSTR`
    case 'hislip': {
      const port = link.port === 4880 ? '' : `,${link.port}`
      return `TCPIP::${link.host}::${link.device}${port}::INSTR`
    }
    case 'vxi-11':
      return `TCPIP::${link.host}::${link.device}::INSTR`
    default:
      return undefined
  }
}
