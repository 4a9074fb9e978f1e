import { isDefinedError } from '@orpc/client'
import { useEffect, useRef, useState } from 'react'
import { type Issue, issueWords } from '../text/issues.ts'
import { useJoining } from './state.ts'

export interface Answer<T> {
  data: T | undefined
  /** Why there is no newer answer, in words. */
  problem: string | undefined
  asking: boolean
}

/** The sentence of a refusal; anything else is a fault and says so. */
export function wordsOf(fault: unknown): string {
  if (isDefinedError(fault as Error)) {
    const data = (fault as { data?: unknown }).data
    if (typeof data === 'object' && data !== null && 'words' in data) return String(data.words)
  }
  const data = (fault as { data?: { words?: unknown; issues?: Issue[] } }).data
  if (typeof data?.words === 'string') return data.words
  const issue = data?.issues?.[0]
  if (issue) return issueWords(issue)
  return fault instanceof Error ? fault.message : String(fault)
}

/**
 * Asks the station, and again whenever `keys` change or the link is new. The last answer stays on show meanwhile.
 * `undefined` in place of the question asks nothing.
 */
export function useAnswer<T>(
  ask: ((signal: AbortSignal) => Promise<T>) | undefined,
  keys: readonly unknown[],
): Answer<T> {
  const { round, state } = useJoining()
  const [answer, setAnswer] = useState<Answer<T>>({ data: undefined, problem: undefined, asking: false })
  const question = useRef(ask)
  question.current = ask
  const has = ask !== undefined
  // A silent station may be busy with this very question: it is not asked twice.
  const linked = state === 'joined' || state === 'silent'
  // The keys say when the question is another one; the function itself is new in every render.
  // biome-ignore lint/correctness/useExhaustiveDependencies: keys stand for the question
  useEffect(() => {
    if (!has) {
      setAnswer({ data: undefined, problem: undefined, asking: false })
      return
    }
    if (!linked) return
    const stop = new AbortController()
    setAnswer((old) => ({ ...old, asking: true }))
    question.current!(stop.signal).then(
      (data) => stop.signal.aborted || setAnswer({ data, problem: undefined, asking: false }),
      (fault) =>
        stop.signal.aborted || setAnswer((old) => ({ ...old, problem: wordsOf(fault), asking: false })),
    )
    return () => stop.abort()
  }, [has, round, linked, ...keys])
  return answer
}
