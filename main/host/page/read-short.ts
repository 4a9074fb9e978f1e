import type { IncomingMessage } from 'node:http'

const LARGEST = 4096

/** The text of a request that may only be short; undefined where it was too long or broken off. */
export function readShort(request: IncomingMessage): Promise<string | undefined> {
  return new Promise((resolve) => {
    let text = ''
    request.setEncoding('utf8')
    request.on('data', (chunk: string) => {
      text += chunk
      if (text.length > LARGEST) request.destroy()
    })
    request.on('error', () => resolve(undefined))
    request.on('close', () => resolve(undefined))
    request.on('end', () => resolve(text))
  })
}
