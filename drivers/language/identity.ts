import type { Identity } from '../../app/instruments/faces.ts'

/**
 * The four fields of an *IDN? reply: maker, model, serial number, firmware. A field an instrument does not have is "0".
 *
 * Source  IEEE Std 488.2-1992, 10.14, from memory.
 */
export function readIdentity(reply: string): Identity | undefined {
  const fields = reply.split(',').map((field) => field.trim())
  if (fields.length < 4) return undefined
  const [maker = '', model = '', serial = ''] = fields
  return maker === '' ? undefined : { maker, model, serial, firmware: fields.slice(3).join(','), raw: reply }
}

/** An identity from a pattern with the named groups maker, model, serial, firmware; what is not named stays empty. */
export function matchIdentity(reply: string, pattern: RegExp): Identity | undefined {
  const groups = pattern.exec(reply)?.groups
  if (groups === undefined) return pattern.test(reply) ? blank(reply) : undefined
  return { ...blank(reply), ...pick(groups) }
}

function blank(raw: string): Identity {
  return { maker: '', model: '', serial: '', firmware: '', raw }
}

function pick(groups: Record<string, string | undefined>): Partial<Identity> {
  const { maker = '', model = '', serial = '', firmware = '' } = groups
  return { maker, model, serial, firmware }
}
