/**
 * Replays what a process did to its files up to any instant, as a disk that loses its power there may have kept it:
 * everything that was synced, and of the rest any part, torn at sectors. Reads a trace of system calls.
 */

export type DiskEvent =
  | { kind: 'write'; name: string; at: number; bytes: Buffer }
  | { kind: 'truncate'; name: string; length: number }
  | { kind: 'sync'; name: string }
  | { kind: 'unlink'; name: string }
  /** The process told the outside that this much is stored. */
  | { kind: 'said'; seq: number }

export interface Cut {
  files: Map<string, Buffer>
  /** Last seq that had been said to be stored. */
  said: number
  words: string
}

const SECTOR = 512

/** Reads the lines of `strace -f -y -xx`; only the session's own files and stdout matter. */
export function readTrace(text: string, path: string): DiskEvent[] {
  const events: DiskEvent[] = []
  const waiting = new Map<string, string>()
  const base = path.slice(path.lastIndexOf('/') + 1)
  for (const line of text.split('\n')) {
    const match = /^(\d+)\s+(.*)$/.exec(line)
    if (!match) continue
    const [, pid, rest] = match as unknown as [string, string, string]
    const cut = rest.indexOf(' <unfinished ...>')
    if (cut >= 0) {
      waiting.set(pid, rest.slice(0, cut))
      continue
    }
    // A call that other threads interrupted in the trace took effect by the time it ended.
    const resumed = /^<\.\.\. \w+ resumed>(.*)$/.exec(rest)
    const event = readCall(resumed ? `${waiting.get(pid) ?? ''}${resumed[1]}` : rest, path, base)
    if (event) events.push(event)
  }
  return events
}

function readCall(call: string, path: string, base: string): DiskEvent | undefined {
  const result = /\)\s+= (-?\d+)/.exec(call)
  if (!result || Number(result[1]) < 0) return undefined
  const named = /^(\w+)\((?:AT_FDCWD[^,]*, )?(?:(\d+)<([^>]*)>|"([^"]*)")/.exec(call)
  if (!named) return undefined
  const [, name, fd, shown = '', quoted = ''] = named
  const target = shown.includes('\\x') ? bytesOf(shown).toString() : shown || bytesOf(quoted).toString()
  if (name === 'write' && fd === '1') return { kind: 'said', seq: Number(bytesOf(dataOf(call)).toString()) }
  if (!target.startsWith(path) || target.endsWith('-shm')) return undefined
  const file = base + target.slice(path.length)
  const numbers = call.slice(0, result.index).split(', ')
  switch (name) {
    case 'pwrite64': {
      const bytes = bytesOf(dataOf(call)).subarray(0, Number(result[1]))
      return { kind: 'write', name: file, at: Number(numbers.at(-1)), bytes }
    }
    case 'fsync':
    case 'fdatasync':
      return { kind: 'sync', name: file }
    case 'ftruncate':
      return { kind: 'truncate', name: file, length: Number(numbers.at(-1)) }
    case 'unlink':
    case 'unlinkat':
      return { kind: 'unlink', name: file }
    default:
      throw new Error(`a call the replay does not know: ${call.slice(0, 100)}`)
  }
}

const dataOf = (call: string) => /, "([^"]*)"/.exec(call)?.[1] ?? ''
const bytesOf = (text: string) => Buffer.from(text.replaceAll('\\x', ''), 'hex')

/** A small generator of its own, so that a failure can be run again. */
function randomFrom(seed: number) {
  let state = seed
  return (below: number) => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0
    return Math.floor((state / 2 ** 32) * below)
  }
}

class File {
  #kept: Buffer
  /** Written and not synced yet, in order. */
  #loose: (Extract<DiskEvent, { kind: 'write' }> | Extract<DiskEvent, { kind: 'truncate' }>)[] = []

  constructor(kept: Buffer) {
    this.#kept = kept
  }

  take(event: Extract<DiskEvent, { kind: 'write' | 'truncate' }>): void {
    this.#loose.push(event)
  }

  sync(): void {
    for (const event of this.#loose) this.#kept = applied(this.#kept, event)
    this.#loose = []
  }

  /** What may be left: of what was not synced, all, nothing, a beginning, or any part with torn sectors. */
  after(random: (below: number) => number): Buffer {
    const choice = random(4)
    if (choice === 0) return this.#kept
    if (choice === 1) return this.#loose.reduce(applied, this.#kept)
    if (choice === 2) return this.#loose.slice(0, random(this.#loose.length + 1)).reduce(applied, this.#kept)
    return this.#loose.reduce((bytes, event) => {
      if (random(3) === 0) return bytes
      if (event.kind === 'truncate' || random(3) > 0) return applied(bytes, event)
      const sectors = Math.ceil(event.bytes.length / SECTOR)
      return applied(bytes, { ...event, bytes: event.bytes.subarray(0, random(sectors + 1) * SECTOR) })
    }, this.#kept)
  }
}

function applied(bytes: Buffer, event: Extract<DiskEvent, { kind: 'write' | 'truncate' }>): Buffer {
  if (event.kind === 'truncate') {
    const cut = Buffer.alloc(event.length)
    bytes.copy(cut, 0, 0, event.length)
    return cut
  }
  const end = event.at + event.bytes.length
  const longer =
    end > bytes.length ? Buffer.concat([bytes, Buffer.alloc(end - bytes.length)]) : Buffer.from(bytes)
  event.bytes.copy(longer, event.at)
  return longer
}

/** `count` cuts spread evenly over the trace. */
export function* cutsOf(
  events: readonly DiskEvent[],
  before: Record<string, Buffer>,
  count: number,
): Generator<Cut> {
  const files = new Map(Object.entries(before).map(([name, bytes]) => [name, new File(bytes)]))
  const random = randomFrom(20260301)
  let said = 0
  let made = 0
  for (const [i, event] of events.entries()) {
    if (event.kind === 'said') said = event.seq
    else if (event.kind === 'unlink') files.delete(event.name)
    else {
      const file = files.get(event.name) ?? new File(Buffer.alloc(0))
      files.set(event.name, file)
      if (event.kind === 'sync') file.sync()
      else file.take(event)
    }
    while (made < Math.floor(((i + 1) * count) / events.length)) {
      made++
      const left = new Map([...files].map(([name, file]) => [name, file.after(random)]))
      yield { files: left, said, words: `cut ${made} after call ${i + 1}, ${event.kind}` }
    }
  }
}
