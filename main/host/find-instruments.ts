import type { Clock } from '../../app/base/clock.ts'
import type { ProfileLibrary } from '../../drivers/index.ts'
import { tcpConnect } from '../../drivers/link/tcp.ts'

const CONNECT_MS = 1500
const ANSWER_MS = 1500
const LONGEST_REPLY = 500

/** Asks whoever answers at an address who it is (`*IDN?`, IEEE 488.2); undefined where nobody does. */
export async function askIdentity(host: string, port: number, clock: Clock): Promise<string | undefined> {
  const giveUp = new AbortController()
  let heard = ''
  let told: (reply: string | undefined) => void = () => undefined
  const reply = new Promise<string | undefined>((resolve) => {
    told = resolve
  })
  const listener = {
    data: (chunk: Uint8Array) => {
      heard += Buffer.from(chunk).toString('latin1')
      const line = /^[\s>]*([\x20-\x7e]+)[\r\n]/.exec(heard)?.[1]
      if (line !== undefined) told(line.trim())
      else if (heard.length > LONGEST_REPLY) told(undefined)
    },
    closed: () => told(undefined),
    note: () => undefined,
    serviceRequest: () => undefined,
  }
  try {
    const wire = await tcpConnect(
      { host, port, connectMs: CONNECT_MS, owner: 'the search for instruments' },
      clock,
    )(listener, giveUp.signal)
    const deadline = clock.after(ANSWER_MS, () => told(undefined))
    wire.write('*IDN?\n')
    try {
      return await reply
    } finally {
      deadline.dispose()
      wire.destroy()
    }
  } catch {
    return undefined
  }
}

/** The profile whose pattern knows this identity. */
export function profileFor(identity: string, { profiles }: ProfileLibrary): string | null {
  for (const { profile } of profiles.values()) {
    if (profile.identity.ask !== undefined && new RegExp(profile.identity.pattern).test(identity))
      return profile.id
  }
  return null
}
