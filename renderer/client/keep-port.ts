/** Between two questions for a port; the shell's answer takes milliseconds unless there is no core yet. */
export const ASK_AGAIN_MS = 3000

const ASK = 'stillpoint-ask-port'
const GIVEN = 'stillpoint-port'

export interface PortHeard {
  /** A port that is started. It takes the place of any before it. */
  onPort(port: MessagePort): void
  /** The port in use has ended, and no other is there yet. */
  onEnd(): void
}

/** Asks the desktop's shell for a port to the core until one is there, and again after it has ended. */
export function keepPort(
  page: Pick<Window, 'addEventListener' | 'removeEventListener' | 'postMessage'>,
  origin: string,
  heard: PortHeard,
): { renew(): void; dispose(): void } {
  let inUse: MessagePort | undefined
  const ask = () => page.postMessage(ASK, origin)
  const take = (event: MessageEvent) => {
    const port = event.ports[0]
    if (event.source !== page || event.data !== GIVEN || !port) return
    const old = inUse
    inUse = port
    // Closing this end is silent on this end: whoever waits on the old port is told.
    old?.close()
    old?.dispatchEvent(new Event('close'))
    port.addEventListener('close', () => {
      if (inUse !== port) return
      inUse = undefined
      heard.onEnd()
      ask()
    })
    port.start()
    heard.onPort(port)
  }
  page.addEventListener('message', take)
  const again = setInterval(() => inUse ?? ask(), ASK_AGAIN_MS)
  ask()
  return {
    renew: ask,
    dispose() {
      clearInterval(again)
      page.removeEventListener('message', take)
      inUse?.close()
    },
  }
}
