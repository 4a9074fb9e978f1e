import { usePlaceCommands } from './hooks.ts'
import type { Command } from './page.ts'

/** Commands of a place that has them only once it is set up; draws nothing. */
export function PlaceCommands({ owner, commands }: { owner: string; commands: readonly Command[] }) {
  usePlaceCommands(owner, commands)
  return null
}
