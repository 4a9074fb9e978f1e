import type { LinkSpec } from '../../app/records/bench.ts'
import type { InstrumentKind } from '../scenarios/scenario.ts'

type SerialLine = Required<
  Pick<Extract<LinkSpec, { kind: 'serial' }>, 'baud' | 'dataBits' | 'parity' | 'stopBits'>
>

const eightNone = (baud: number): SerialLine => ({ baud, dataBits: 8, parity: 'none', stopBits: 1 })

/** How each instrument's serial line is set; a pseudo-terminal carries the bytes whatever is chosen. */
export const SERIAL_LINES: Readonly<Record<InstrumentKind, SerialLine>> = {
  'rb-8': eightNone(9600),
  'rb-3': { baud: 2400, dataBits: 7, parity: 'even', stopBits: 1 },
  'cs-16': eightNone(9600),
  'cs-32': eightNone(4800),
  'tb-2': eightNone(19200),
  'tb-1': eightNone(1200),
  'fc-1': eightNone(19200),
  'dm-7': eightNone(38400),
  'es-1': eightNone(9600),
  'tb-2m': { ...eightNone(19200), parity: 'even' },
  'es-2': eightNone(9600),
}
