import type { Wire } from './served-window.ts'

/** What is needed of a port: Electron's own and a thread's are alike in it. */
export interface WindowPort {
  postMessage(data: unknown): void
  close(): void
}

/** A window's wire over a message port. It carries no reason: the window asks for another port. */
export function portWire(port: WindowPort): Wire {
  return {
    send(data) {
      port.postMessage(data)
      return Promise.resolve()
    },
    end: () => port.close(),
  }
}
