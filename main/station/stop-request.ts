import { readFileSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { z } from 'zod'
import type { Disposable } from '../../app/base/clock.ts'
import { writeThenRename } from '../store/export/file.ts'

const Request = z.strictObject({
  /** Whether the open session is stopped safely first; otherwise it stays open and is taken up at the next start. */
  safely: z.boolean(),
  who: z.string(),
})
export type StopRequest = z.output<typeof Request>

const LOOK_MS = 500
const file = (folder: string) => join(folder, 'stop-request.json')

/**
 * Asks the station that holds a data folder to end: a file, because it works alike on every system, whoever started the
 * station and whether it has a page or a window. Who may write in the folder may stop its station.
 */
export function requestStop(folder: string, request: StopRequest): void {
  writeThenRename(file(folder), (out) => out.write(JSON.stringify(request)), 0o600)
}

/** Hears requests of `requestStop`, once. One from before this start is forgotten. */
export function onStopRequest(
  folder: string,
  onAsked: (request: StopRequest) => void,
  lookMs = LOOK_MS,
): Disposable {
  rmSync(file(folder), { force: true })
  const timer = setInterval(() => {
    const request = read(folder)
    if (!request) return
    clearInterval(timer)
    rmSync(file(folder), { force: true })
    onAsked(request)
  }, lookMs)
  timer.unref()
  return { dispose: () => clearInterval(timer) }
}

function read(folder: string): StopRequest | undefined {
  try {
    return Request.parse(JSON.parse(readFileSync(file(folder), 'utf8')))
  } catch {
    // None, or nothing that we wrote.
    return undefined
  }
}
