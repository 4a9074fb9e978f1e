import type { Clock } from '../../app/base/clock.ts'
import type { LinkSpec } from '../../app/records/bench.ts'
import type { WireListener } from '../link/wire.ts'
import { connectTo } from '../profile/reach.ts'
import { Profile } from '../profile/schema.ts'

const ANSWER_MS = 1500
const LONGEST_REPLY = 500

/** As much of a profile as it takes to ask somebody unknown who it is (`*IDN?`, IEEE 488.2). */
const ANYBODY = Profile.parse({
  format: 'stillpoint profile 2',
  id: 'anybody',
  title: 'anybody',
  role: 'meter',
  language: 'scpi',
  framing: { send: '\n', receive: '\n' },
  identity: { ask: 'who', pattern: '.' },
  commands: { who: { doc: 'Who it is.', send: '*IDN?', risk: 'read-only', answer: { kind: 'text' } } },
})

/**
 * Asks whoever answers at a link who it is; undefined where nobody does. One question, sent because a person said so, and the
 * instrument is left open to whatever else uses it.
 */
export async function askWho(link: LinkSpec, clock: Clock): Promise<string | undefined> {
  const giveUp = new AbortController()
  let heard = ''
  let told: (reply: string | undefined) => void = () => undefined
  const reply = new Promise<string | undefined>((resolve) => {
    told = resolve
  })
  const listener: WireListener = {
    data: (chunk) => {
      heard += Buffer.from(chunk).toString('latin1')
      const line = /^[\s>]*([\x20-\x7e]+)[\r\n]/.exec(heard)?.[1]
      if (line !== undefined) told(line.trim())
      else if (heard.length > LONGEST_REPLY) told(undefined)
    },
    closed: () => told(undefined),
    note: () => undefined,
    serviceRequest: () => undefined,
  }
  const open = link.kind === 'hislip' || link.kind === 'vxi-11' ? { ...link, shared: true as const } : link
  const spec = { id: 'search', name: 'the search for instruments', profile: ANYBODY.id, link: open }
  try {
    const wire = await connectTo(spec, ANYBODY, clock)(listener, giveUp.signal)
    const deadline = clock.after(ANSWER_MS, () => told(undefined))
    wire.write('*IDN?\n', ANSWER_MS)
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
