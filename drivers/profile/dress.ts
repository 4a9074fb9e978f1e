import { checksumWidth, printChecksum } from './checksum.ts'
import type { Profile } from './schema.ts'

/** What a reply's outer shell held, or what was wrong with it. */
export type Undressed = { readonly text: string } | { readonly wrong: string }

/** Puts prefix, check value and terminator around a line. */
export function dress(line: string, profile: Pick<Profile, 'framing' | 'checksum'>): string {
  const { framing, checksum } = profile
  const guarded =
    checksum === undefined || checksum.on === 'received'
      ? line
      : line + checksum.mark + printChecksum(checksum.kind, checksum.form, line)
  return framing.sendPrefix + guarded + framing.send
}

/** The line an echoing instrument repeats: what was sent without its terminator. */
export function echoOf(bytes: string, profile: Pick<Profile, 'framing'>): string | undefined {
  return profile.framing.echo !== false
    ? bytes.slice(0, bytes.length - profile.framing.send.length)
    : undefined
}

const STRANGE = /[^\t\r\n\x20-\x7e]/
const HIGH = /[\x80-\xff]/

/** Takes prefix and check value off a reply, and refuses bytes no instrument of this kind sends. */
export function undress(reply: string, profile: Pick<Profile, 'framing' | 'checksum'>): Undressed {
  const { framing, checksum } = profile
  if (!reply.startsWith(framing.receivePrefix))
    return { wrong: 'the reply lacks its prefix: check framing in the profile, see Wire' }
  let text = framing.receivePrefix === '' ? reply : reply.slice(framing.receivePrefix.length)
  if (checksum !== undefined && checksum.on !== 'sent') {
    const width = checksumWidth(checksum.kind, checksum.form)
    const at = text.length - width - checksum.mark.length
    if (at < 0 || !text.startsWith(checksum.mark, at)) return { wrong: 'the check value is missing' }
    const body = text.slice(0, at)
    if (printChecksum(checksum.kind, checksum.form, body) !== text.slice(at + checksum.mark.length)) {
      return { wrong: 'the check value does not agree: bytes were changed on the line' }
    }
    text = body
  }
  if (framing.characters === 'ascii' && STRANGE.test(text)) {
    return {
      wrong: HIGH.test(text)
        ? 'bytes above 126 in the reply: this looks like a wrong baud rate or parity, or noise on the line'
        : 'control characters in the reply',
    }
  }
  return { text }
}
