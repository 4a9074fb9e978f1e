import { mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { dirname } from 'node:path'
import { z } from 'zod'

const State = z.object({
  x: z.int().optional(),
  y: z.int().optional(),
  width: z.int().min(640).max(20_000),
  height: z.int().min(480).max(20_000),
  maximized: z.boolean(),
})
export type WindowState = z.output<typeof State>

const FIRST: WindowState = { width: 1400, height: 900, maximized: false }

/** Where the window was; the first state where nothing usable is stored. */
export function readWindowState(file: string): WindowState {
  try {
    return State.parse(JSON.parse(readFileSync(file, 'utf8')))
  } catch {
    return FIRST
  }
}

/** Losing this file loses nothing but a position, so a failure to write is not reported. */
export function writeWindowState(file: string, state: WindowState): void {
  try {
    mkdirSync(dirname(file), { recursive: true, mode: 0o700 })
    writeFileSync(file, JSON.stringify(state), { mode: 0o600 })
  } catch {
    return
  }
}
