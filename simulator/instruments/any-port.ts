import { randomInt } from 'node:crypto'

/**
 * Listens on a port outside the range from which the system hands out ports to clients: a client that knocks at a vanished
 * port of that range can be given this very port and then talks to itself. Gives the port.
 */
export async function listenAnywhere(listen: (port: number) => Promise<void>): Promise<number> {
  for (let tries = 0; ; tries += 1) {
    const port = randomInt(20_000, 32_000)
    try {
      await listen(port)
      return port
    } catch (error) {
      if (!isTaken(error) || tries > 200) throw error
    }
  }
}

export function isTaken(error: unknown): boolean {
  return error instanceof Error && 'code' in error && error.code === 'EADDRINUSE'
}
