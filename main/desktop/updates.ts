import { existsSync, readFileSync } from 'node:fs'
import { z } from 'zod'

const Feed = z.object({ feed: z.string() })
const EVERY_MS = 86_400_000
const FIRST_MS = 60_000
const PATIENCE_MS = 20_000
/** A feed is a few lines; more is something else. */
const MOST_CHARACTERS = 10_000

/** What the program's packages are listed in beside them, by system; electron-builder writes it (channel `stable`). */
const LISTS: Partial<Record<NodeJS.Platform, string>> = {
  win32: 'stable.yml',
  darwin: 'stable-mac.yml',
  linux: 'stable-linux.yml',
}

export interface UpdatesParts {
  /** Folder of packages on a web server; null: nothing is ever asked. */
  readonly feed: string | null
  readonly version: string
  readonly platform: NodeJS.Platform
  readonly tell: (title: string, words: string) => void
  readonly log: (words: string) => void
}

/**
 * Says that there is a newer version, where somebody has named a feed to ask. It neither fetches nor installs one: what measures
 * in a laboratory is changed by a person, between sessions and after a look at the changes (docs/guide.md, validation).
 */
export class Updates {
  readonly #p: UpdatesParts
  #timer: NodeJS.Timeout | undefined
  #told = ''

  constructor(parts: UpdatesParts) {
    this.#p = parts
    if (parts.feed !== null) this.#askIn(FIRST_MS)
  }

  close(): void {
    clearTimeout(this.#timer)
  }

  /** Asks now and tells of a version that is newer and was not told of; never throws. */
  async ask(): Promise<void> {
    const { feed, version, platform, tell, log } = this.#p
    const list = LISTS[platform]
    if (feed === null || list === undefined) return
    try {
      const answer = await fetch(new URL(list, feed.endsWith('/') ? feed : `${feed}/`), {
        signal: AbortSignal.timeout(PATIENCE_MS),
        redirect: 'error',
      })
      if (!answer.ok) throw new Error(`it answered ${answer.status}`)
      const text = (await answer.text()).slice(0, MOST_CHARACTERS)
      const there = /^version: *['"]?(\d+\.\d+\.\d+)['"]?\s*$/m.exec(text)?.[1]
      if (there === undefined) throw new Error('it names no version')
      if (!isNewer(there, version) || there === this.#told) return
      this.#told = there
      tell(
        `Stillpoint ${there} is there`,
        `This is ${version}. Read its changes, and install it between sessions.`,
      )
    } catch (fault) {
      log(`the feed of updates was not read: ${(fault as Error).message}`)
    }
  }

  #askIn(ms: number): void {
    this.#timer = setTimeout(() => {
      this.#askIn(EVERY_MS)
      void this.ask()
    }, ms)
    this.#timer.unref()
  }
}

/**
 * The feed that the file names: {"feed": "https://..."}. Null where there is no such file, or its address is not one of https;
 * only a test's own computer is asked without.
 */
export function feedIn(file: string, log: (words: string) => void): string | null {
  if (!existsSync(file)) return null
  try {
    const { feed } = Feed.parse(JSON.parse(readFileSync(file, 'utf8')))
    const { protocol, hostname } = new URL(feed)
    if (protocol === 'https:' || (protocol === 'http:' && hostname === '127.0.0.1')) return feed
    throw new Error(`${feed} is not an address of https`)
  } catch (fault) {
    log(`no updates are looked for: ${file}: ${(fault as Error).message}`)
    return null
  }
}

function isNewer(there: string, here: string): boolean {
  const [a, b] = [there, here].map((version) => version.split('.').map(Number))
  for (const [i, part] of a!.entries()) if (part !== b![i]) return part > (b![i] ?? 0)
  return false
}
