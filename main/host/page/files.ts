import { readdirSync, readFileSync } from 'node:fs'
import { extname, join, relative, sep } from 'node:path'

const TYPES: Record<string, string> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.ico': 'image/x-icon',
  '.woff2': 'font/woff2',
  '.woff': 'font/woff',
  '.json': 'application/json',
  '.webmanifest': 'application/manifest+json',
}

export interface ServedFile {
  body: Buffer
  type: string
  /** Names that carry a hash of their content may be kept for ever. */
  immutable: boolean
}

/** Reads the built page whole, once: what is not in this map is not served, so no path can lead elsewhere. */
export function loadBuiltPage(folder: string): Map<string, ServedFile> {
  const files = new Map<string, ServedFile>()
  for (const entry of readdirSync(folder, { recursive: true, withFileTypes: true })) {
    if (!entry.isFile()) continue
    const path = join(entry.parentPath, entry.name)
    const type = TYPES[extname(entry.name)]
    if (!type) continue
    const address = `/${relative(folder, path).split(sep).join('/')}`
    files.set(address, { body: readFileSync(path), type, immutable: address.startsWith('/assets/') })
  }
  const index = files.get('/index.html')
  if (index) files.set('/', index)
  return files
}
