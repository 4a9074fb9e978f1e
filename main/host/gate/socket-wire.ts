import type { WebSocket } from 'ws'
import type { Wire } from './served-window.ts'

/** A window that takes nothing of what it asked for, for this long, is given up, ms. */
const DEAF_MS = 60_000

/** A window's wire over a WebSocket. */
export function socketWire(socket: WebSocket): Wire {
  return {
    // Resolves when it has left, so that what nobody takes does not pile up here.
    send: (data) =>
      new Promise((resolve, reject) => {
        const deaf = setTimeout(() => socket.terminate(), DEAF_MS)
        socket.send(data, (fault) => {
          clearTimeout(deaf)
          if (fault) reject(fault)
          else resolve()
        })
      }),
    flow: { pause: () => socket.pause(), resume: () => socket.resume() },
    end(code, words) {
      socket.close(code, words)
      // Whoever does not answer the close is not waited for.
      setTimeout(() => socket.terminate(), 1000).unref()
    },
  }
}
