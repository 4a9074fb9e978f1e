import { useCallback, useEffect, useRef, useState } from 'react'
import { wordsOf } from './ask.ts'
import { useJoining } from './state.ts'

/** A list that is asked for in pages: what has come of it, and how to go on. */
export interface Pages<R> {
  rows: readonly R[]
  /** Lines there are in all; undefined before the first page has come. */
  total: number | undefined
  /** Asks for the next page; called when the last lines come in sight. */
  more: () => void
  problem: string | undefined
  asking: boolean
}

export interface PageAsked {
  from: number
  most: number
}

interface State<R> {
  rows: readonly R[]
  total: number | undefined
  problem: string | undefined
  asking: boolean
}

type Ask<R> = (page: PageAsked, signal: AbortSignal) => Promise<{ total: number; rows: R[] }>

/**
 * Asks for the first page, and for the next whenever `more` is called. Another question, by its keys, begins anew; another
 * `version` of the same list brings as many lines as were there, so that nobody loses their place. `undefined` asks nothing.
 */
export function usePages<R>(
  ask: Ask<R> | undefined,
  keys: readonly unknown[],
  version: unknown,
  most = 200,
): Pages<R> {
  const { round, state: link } = useJoining()
  const [state, setState] = useState<State<R>>({
    rows: [],
    total: undefined,
    problem: undefined,
    asking: false,
  })
  const question = useRef(ask)
  question.current = ask
  const loaded = useRef(0)
  const busy = useRef<AbortController | undefined>(undefined)
  const has = ask !== undefined
  const linked = link === 'joined' || link === 'silent'
  const key = JSON.stringify(keys)
  const keyBefore = useRef<string>(undefined)

  const fetch = useCallback(
    async (before: readonly R[], upTo: number) => {
      busy.current?.abort()
      const stop = new AbortController()
      busy.current = stop
      setState((old) => ({ ...old, asking: true }))
      try {
        let rows = before
        let total = Number.POSITIVE_INFINITY
        do {
          const page = await question.current!({ from: rows.length, most }, stop.signal)
          if (stop.signal.aborted) return
          rows = [...rows, ...page.rows]
          // A page that is empty ends a list that became shorter meanwhile.
          total = page.rows.length === 0 ? rows.length : page.total
        } while (rows.length < Math.min(upTo, total))
        loaded.current = rows.length
        setState({ rows, total, problem: undefined, asking: false })
      } catch (fault) {
        if (!stop.signal.aborted) setState((old) => ({ ...old, problem: wordsOf(fault), asking: false }))
      } finally {
        if (busy.current === stop) busy.current = undefined
      }
    },
    [most],
  )

  // biome-ignore lint/correctness/useExhaustiveDependencies: the key and the version stand for the question
  useEffect(() => {
    if (!has) {
      setState({ rows: [], total: undefined, problem: undefined, asking: false })
      return
    }
    if (!linked) return
    const same = keyBefore.current === key
    keyBefore.current = key
    void fetch([], same ? loaded.current : 0)
    return () => busy.current?.abort()
  }, [has, linked, round, key, version, fetch])

  const { rows, total } = state
  const more = useCallback(() => {
    if (busy.current || total === undefined || rows.length >= total) return
    void fetch(rows, 0)
  }, [fetch, rows, total])
  return { ...state, more }
}

/** Every line of a list, page after page: for what has to be complete, such as the decisions of a session. */
export async function allOf<R>(
  ask: (page: PageAsked) => Promise<{ total: number; rows: R[] }>,
): Promise<R[]> {
  const rows: R[] = []
  for (;;) {
    const page = await ask({ from: rows.length, most: ALL_AT_A_TIME })
    rows.push(...page.rows)
    if (page.rows.length === 0 || rows.length >= page.total) return rows
  }
}

const ALL_AT_A_TIME = 5_000
