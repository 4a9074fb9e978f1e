/**
 * Resolves with how the person or the system asked the process to end; a second time ends it at once. On Windows a signal
 * from another program ends a process unheard, so a message from the one that started it does as well.
 */
export function askedToEnd(): Promise<NodeJS.Signals | 'message'> {
  return new Promise((resolve) => {
    let asked = false
    const ask = (how: NodeJS.Signals | 'message') => {
      if (asked) process.exit(130)
      asked = true
      resolve(how)
    }
    for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.on(signal, ask)
    process.on('message', (message) => {
      if ((message as { stop?: unknown } | null)?.stop === true) ask('message')
    })
    // Listening must not keep a process alive that has nothing else left to do.
    process.channel?.unref()
  })
}
