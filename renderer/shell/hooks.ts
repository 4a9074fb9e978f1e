import { useEffect, useRef } from 'react'
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
