import { Conversation } from '../../../drivers/link/conversation.ts'
import type { Pace } from '../../../drivers/link/exchange.ts'
import type { Framing } from '../../../drivers/link/framer.ts'
import { Traffic } from '../../../drivers/link/traffic.ts'
import { VirtualClock } from '../../../main/station/clocks/virtual.ts'

export const FRAMING: Framing = {
  end: { kind: 'terminator', text: '\n' },
  maxBytes: 64,
  tokens: [],
  blocks: false,
}

/** A conversation whose far end is the test. */
export function talkTo(framing: Partial<Framing> = {}, pace: Partial<Pace> = {}) {
  const clock = new VirtualClock({ startUtcUs: 0 })
  const sent: string[] = []
  const notes: string[] = []
  const received: string[] = []
  const traffic = new Traffic()
  traffic.listen((line) => {
    if (line.direction === 'note') notes.push(line.text)
    if (line.direction === 'received') received.push(line.text)
  })
  const wire = { write: (bytes: string) => void sent.push(bytes), destroy: () => {} }
  const talk = new Conversation(
    wire,
    clock,
    traffic,
    { ...FRAMING, ...framing },
    { interByteMs: 100, lateMs: 500, gapMs: 0, ...pace },
  )
  return {
    clock,
    talk,
    sent,
    notes,
    received,
    say: (bytes: string) => talk.push(Buffer.from(bytes, 'latin1')),
    sayAfter: (ms: number, bytes: string) => clock.after(ms, () => talk.push(Buffer.from(bytes, 'latin1'))),
  }
}

export const ask = (line: string, more: object = {}) => ({
  bytes: `${line}\n`,
  replies: 1,
  firstByteMs: 1000,
  replyMs: 2000,
  ...more,
})
