import type { Identity } from '../../app/instruments/faces.ts'
import type { Found, Matcher } from './pattern.ts'

/**
 * An identity from a reply by a pattern with the named groups maker, model, serial, firmware; what is not named stays empty.
 * For *IDN? these are the reply's four fields, `^(?<maker>[^,]*),(?<model>[^,]*),(?<serial>[^,]*),(?<firmware>.*)$`.
 *
 * Source  IEEE Std 488.2-1992, 10.14, from memory.
 */
export function matchIdentity(reply: string, pattern: Matcher): Identity | undefined {
  const found = pattern.find(reply)
  return found && { ...blank(reply), ...pick(found.groups) }
}

function blank(raw: string): Identity {
  return { maker: '', model: '', serial: '', firmware: '', raw }
}

function pick(groups: Found['groups']): Partial<Identity> {
  const { maker = '', model = '', serial = '', firmware = '' } = groups
  return { maker, model, serial, firmware }
}
