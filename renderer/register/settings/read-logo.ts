import { LARGEST_LOGO } from './settings.model.ts'

interface ReadLogo {
  picture?: string
  problem: string | undefined
}

/** A picture file as an address that holds it, or why it cannot be the logo. */
export async function readLogo(file: File): Promise<ReadLogo> {
  if (file.size > LARGEST_LOGO) {
    return { problem: `${file.name} is larger than ${LARGEST_LOGO / 1000} kB. Make it smaller first.` }
  }
  const bytes = new Uint8Array(await file.arrayBuffer())
  const type = typeOf(bytes)
  if (type === undefined) {
    return { problem: `${file.name} is neither a PNG nor a JPEG picture.` }
  }
  const text = Array.from(bytes, (byte) => String.fromCharCode(byte)).join('')
  return { picture: `data:image/${type};base64,${btoa(text)}`, problem: undefined }
}

/** By the first bytes: a name says little. PNG: ISO/IEC 15948; JPEG: ISO/IEC 10918-1. */
function typeOf(bytes: Uint8Array): 'png' | 'jpeg' | undefined {
  const begins = (...head: number[]) => head.every((byte, i) => bytes[i] === byte)
  if (begins(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a)) return 'png'
  return begins(0xff, 0xd8, 0xff) ? 'jpeg' : undefined
}
