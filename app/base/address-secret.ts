/** Names under which an address carries what nobody else may know, and never under which it carries anything else. */
const SECRET_NAME =
  /(^|[_.-])((ssl)?pass(word|wd|phrase|code)?|pwd|secret|credentials?|bearer|auth(orization)?|(access|api|auth|secret|private)?[_-]?(token|key)|sig(nature)?)$/i

/**
 * Whether an address holds a password or a key: before the @ (RFC 3986, 3.2.1), as a parameter after ?, & or #, percent-encoded
 * or not, or as a word of a connection text such as `host=a password=b`. Such an address is read by whoever reads the settings,
 * and copied with them.
 */
export function holdsSecret(address: string): boolean {
  return holdsUserPassword(address) || parameters(address).some((name) => SECRET_NAME.test(name))
}

/** What stands before the last @ with a colon in it; a colon before a port and a path is none. */
function holdsUserPassword(address: string): boolean {
  const at = address.lastIndexOf('@')
  if (at < 0) return false
  const before = address.slice(0, at).replace(/^[a-z][a-z0-9+.-]*:\/\//i, '')
  return /:(?!\d+[/?#]).+/s.test(before)
}

/** Names that are given a value. */
function parameters(address: string): string[] {
  return address
    .split(/[?&#;\s]+/)
    .map((part) => /^([^=]+)=./s.exec(part)?.[1])
    .filter((name) => name !== undefined)
    .map(decoded)
}

function decoded(name: string): string {
  try {
    return decodeURIComponent(name)
  } catch {
    return name
  }
}
