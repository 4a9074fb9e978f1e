import { type ChildProcess, spawn } from 'node:child_process'
import { join } from 'node:path'
import { createInterface } from 'node:readline'

/** One line a core in a process of its own tells. */
export interface Told {
  session?: string
  resumed?: boolean
  seq?: number
  channel?: string
  raw?: string
  finished?: { ending: string; reason: string }
}

/** Runs cores one after another and kills each without warning. */
export class CoreRunner {
  readonly #args: readonly string[]
  #child: ChildProcess | undefined

  /** Data folder, bench file, speed of the clock, epoch of the clock in ms. */
  constructor(folder: string, benchFile: string, speed: number, epochMs: number) {
    this.#args = [folder, benchFile, String(speed), String(epochMs)]
  }

  /** Lives until `enough` says so of what it told, then dies; resolves with all of it. */
  live(enough: (told: Told, all: readonly Told[]) => boolean): Promise<Told[]> {
    return new Promise((resolve) => {
      const child = spawn(process.execPath, [join(import.meta.dirname, 'core-child.ts'), ...this.#args], {
        stdio: ['ignore', 'pipe', 'inherit'],
      })
      this.#child = child
      const all: Told[] = []
      createInterface({ input: child.stdout! }).on('line', (line) => {
        const told = whole(line)
        if (!told) return
        all.push(told)
        if (enough(told, all)) child.kill('SIGKILL')
      })
      child.on('close', () => resolve(all))
    })
  }

  kill(): void {
    this.#child?.kill('SIGKILL')
  }
}

/** A line cut short by the kill says nothing. */
function whole(line: string): Told | undefined {
  try {
    return JSON.parse(line) as Told
  } catch {
    return undefined
  }
}
