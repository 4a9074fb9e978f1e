import type { LinkSpec } from './bench.ts'

/** What each kind of link is called. */
export const LINK_KIND_WORDS: Readonly<Record<LinkSpec['kind'], string>> = {
  tcp: 'Network socket',
  serial: 'Serial port',
  hislip: 'HiSLIP',
  'vxi-11': 'VXI-11',
  usbtmc: 'USB (USBTMC)',
  visa: 'VISA library',
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
    case 'usbtmc': {
      const at = link.sharedBy === undefined ? '' : ` at ${link.sharedBy.host}:${link.sharedBy.port}`
      return `USB ${usbIds(link)}${link.serial === undefined ? '' : ` ${link.serial}`}${at}`
    }
    case 'visa':
      return link.resource
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
    case 'usbtmc': {
      if (link.sharedBy !== undefined) return undefined
      const [vendor, product] = [link.vendor, link.product].map(
        (id) => `0x${id.toString(16).toUpperCase().padStart(4, '0')}`,
      )
      return `USB::${vendor}::${product}::${link.serial ?? ''}::INSTR`
    }
    case 'visa':
      return link.resource
    default:
      return undefined
  }
}

/** Vendor and product of a USB device, 1209:0001. */
export const usbIds = ({ vendor, product }: { vendor: number; product: number }): string =>
  [vendor, product].map((id) => id.toString(16).padStart(4, '0')).join(':')
