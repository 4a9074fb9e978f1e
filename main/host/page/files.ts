import { existsSync, readdirSync, readFileSync } from 'node:fs'
import { extname, join, relative, sep } from 'node:path'
import { z } from 'zod'

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

/** List of a built folder's files, made when it is built: an archive of Electron is not walked, it is asked by name. */
export const LIST = 'files.json'

/** Addresses of the files in a built folder: from its list, or by walking it where it has none. */
function namesIn(folder: string): string[] {
  const list = join(folder, LIST)
  if (existsSync(list)) return z.array(z.string()).parse(JSON.parse(readFileSync(list, 'utf8')))
  return readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => relative(folder, join(entry.parentPath, entry.name)).split(sep).join('/'))
}

/** Reads the built page whole, once: what is not in this map is not served, so no path can lead elsewhere. */
export function loadBuiltPage(folder: string): Map<string, ServedFile> {
  const files = new Map<string, ServedFile>()
  for (const name of namesIn(folder)) {
    const type = TYPES[extname(name)]
    if (!type || name === LIST) continue
    const body = readFileSync(join(folder, name))
    files.set(`/${name}`, { body, type, immutable: name.startsWith('assets/') })
  }
  const index = files.get('/index.html')
  if (index) files.set('/', index)
  return files
}
