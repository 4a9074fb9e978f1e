import type { Identity } from '../../app/instruments/faces.ts'

/**
 * An identity from a reply by a pattern with the named groups maker, model, serial, firmware; what is not named stays empty.
 * For *IDN? these are the reply's four fields, `^(?<maker>[^,]*),(?<model>[^,]*),(?<serial>[^,]*),(?<firmware>.*)$`.
 *
 * Source  IEEE Std 488.2-1992, 10.14, from memory.
 */
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
