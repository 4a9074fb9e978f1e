import { useCallback, useState } from 'react'
import { wordsOf } from './ask.ts'

export interface Acts {
  /** Why the last act was refused, in words. */
  problem: string | undefined
  /** What is being done just now, in words. */
  working: string | undefined
  /**
   * Asks the station to do something: the refusal of before is put away, and `done` gets the answer. A refusal stands in
   * `problem` and goes no further.
   */
  attempt<T>(asked: Promise<T> | (() => Promise<T>), done?: (value: T) => void, words?: string): Promise<void>
  /** A refusal of the window's own, or none. */
  refuse(words: string | undefined): void
}

/** What a person does at the station: one at a time, with its refusal in words. Beside useAnswer, which only asks. */
export function useAct(): Acts {
  const [problem, refuse] = useState<string>()
  const [working, setWorking] = useState<string>()
  const attempt = useCallback(
    async <T>(asked: Promise<T> | (() => Promise<T>), done?: (value: T) => void, words = 'Working') => {
      setWorking(words)
      refuse(undefined)
      try {
        const value = await (typeof asked === 'function' ? asked() : asked)
        done?.(value)
      } catch (fault) {
        refuse(wordsOf(fault))
      } finally {
        setWorking(undefined)
      }
    },
    [],
  )
  return { problem, working, attempt, refuse }
}
