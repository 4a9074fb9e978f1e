import { serveThread } from '../../main/store/serve-thread.ts'
import type { Cancel } from '../../main/store/thread-talk.ts'

const held: Uint8Array[] = []
const since = (ms: number) => performance.now() + ms

/** Tasks to try a pool of threads with. */
export const poolTasks = {
  echo: (_: Cancel, text: string): string => text,
  long: (cancel: Cancel, ms: number): string => {
    for (const until = since(ms); performance.now() < until; ) cancel.throwIfAborted()
    return 'long'
  },
  /** Never looks whether it is still wanted. */
  stubborn: (_: Cancel, ms: number): string => {
    for (const until = since(ms); performance.now() < until; );
    return 'stubborn'
  },
  idle: (_: Cancel, ms: number): string => poolTasks.stubborn(_, ms),
  hold: (_: Cancel, bytes: number): number => {
    held.push(new Uint8Array(bytes).fill(1))
    return held.length
  },
}

serveThread(poolTasks, () => undefined)
