import type { Identity } from '../../app/instruments/faces.ts'
import type { LinkSpec } from '../../app/records/bench.ts'
import { Link } from '../../drivers/link/link.ts'
import type { Connect } from '../../drivers/link/wire.ts'
import { framingOf } from '../../drivers/profile/reach.ts'
import { Profile } from '../../drivers/profile/schema.ts'
import { Speaker } from '../../drivers/profile/speaker.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import type { Row } from './row.ts'

const ROUNDS = 100
const ROUND_MS = 25

/** An instrument that answers one question with one number. */
export const lineProfile = Profile.parse({
  format: 'stillpoint profile 1',
  id: 'bench',
  title: 'far end of the bench',
  role: 'meter',
  language: 'scpi',
  unit: 'ratio',
  framing: { send: '\n', receive: '\n' },
  identity: { ask: 'fetch', pattern: '.' },
  commands: {
    fetch: {
      doc: 'The number.',
      send: 'FETCh?',
      risk: 'read-only',
      answer: { kind: 'value', unit: 'ratio' },
    },
  },
  capabilities: { measure: ['fetch'] },
})
const NOBODY: Identity = { maker: '', model: '', serial: '', firmware: '', raw: '' }
export const clock = new RealClock()

interface Count {
  readonly count: number
  readonly ms: number
}

/** Round trips for a while, and how long they took. */
export type Loop = (ms: number) => Promise<Count>

/** Everything between a driver and the wire: queue, deadline, framing, shell, parsing of the number. */
export function ourLoop(link: Link, speaker: Speaker, batch = 50): Loop {
  return async (ms) => {
    const start = performance.now()
    let count = 0
    while (performance.now() - start < ms) {
      for (let i = 0; i < batch; i++) {
        const done = await link.run((talk) => speaker.perform(talk, 'fetch'))
        if (!done.ok) throw new Error(done.words)
        count++
      }
    }
    return { count, ms: performance.now() - start }
  }
}

/** Opens a link of ours to a far end of the bench. */
export async function openLink(
  connectWire: Connect,
  described: Profile = lineProfile,
  link: LinkSpec = { kind: 'tcp', host: '127.0.0.1', port: 1 },
): Promise<{ link: Link; speaker: Speaker }> {
  const opened = new Link({
    name: 'bench',
    clock,
    connect: connectWire,
    framing: framingOf({ link }, described),
    pace: { interByteMs: 200, lateMs: 1000, gapMs: 0 },
    quietMs: 20,
    identify: async () => NOBODY,
    recover: async () => true,
    random: Math.random,
  })
  await opened.open()
  return { link: opened, speaker: new Speaker(described, clock) }
}

/** Ours and the other in short turns, so that both meet the same disturbances of a busy machine. */
export async function compare(
  ours: Loop,
  other: Loop,
): Promise<{ ours: number; other: number; ratio: number }> {
  await ours(500)
  await other(500)
  const sums = [
    { loop: ours, count: 0, ms: 0 },
    { loop: other, count: 0, ms: 0 },
  ]
  for (let round = 0; round < ROUNDS; round++) {
    for (const sum of round % 2 === 0 ? sums : sums.toReversed()) {
      const { count, ms } = await sum.loop(ROUND_MS)
      sum.count += count
      sum.ms += ms
    }
  }
  const [a = 0, b = 0] = sums.map((sum) => (sum.count / sum.ms) * 1000)
  return { ours: a, other: b, ratio: a / b }
}

/** One row of the table, with its goal. */
export function row(
  name: string,
  got: { ours: number; other: number; ratio: number },
  against: string,
  goal: number | undefined,
): Row {
  const note = `against ${against}; ${ROUNDS} turns of ${ROUND_MS} ms each${goal === undefined ? '; bounded by the processor, not by waiting' : ''}`
  const met = goal === undefined ? null : got.ratio >= goal
  return { name, ...got, unit: 'per s', goal: goal === undefined ? '' : `>= ${goal}`, met, note }
}
