import { useEffect, useMemo, useRef } from 'react'
import { addBackStep, type Command, page } from './page.ts'

/** While `active`, Escape calls `back`. */
export function useBackStep(active: boolean, back: () => void): void {
  const latest = useRef(back)
  latest.current = back
  useEffect(() => {
    if (!active) return
    const step = addBackStep(() => latest.current())
    return () => step.dispose()
  }, [active])
}

/** Offers commands in the list for as long as the place is shown. */
export function useCommands(owner: string, commands: readonly Command[]): void {
  useEffect(() => {
    page.setState((old) => ({ commands: { ...old.commands, [owner]: commands } }))
    return () =>
      page.setState((old) => {
        const { [owner]: _gone, ...rest } = old.commands
        return { commands: rest }
      })
  }, [owner, commands])
}

/** The same for commands that are made anew with each drawing of a place: what they say decides, what they do is the latest. */
export function usePlaceCommands(owner: string, commands: readonly Command[]): void {
  const latest = useRef(commands)
  latest.current = commands
  const key = commands.map(({ id, words }) => `${id} ${words}`).join('\n')
  // biome-ignore lint/correctness/useExhaustiveDependencies: the key stands for the commands
  const steady = useMemo(
    () =>
      latest.current.map((command, i) => ({
        ...command,
        run: () => latest.current[i]?.run(),
      })),
    [key],
  )
  useCommands(owner, steady)
}
