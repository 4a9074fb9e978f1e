/** Resolves with the name of the signal when the person or the system asks the process to end; a second one ends it at once. */
export function askedToEnd(): Promise<NodeJS.Signals> {
  return new Promise((resolve) => {
    let asked = false
    for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) {
      process.on(signal, () => {
        if (asked) process.exit(130)
        asked = true
        resolve(signal)
      })
    }
  })
}
