import type { Identity } from '../../../app/instruments/faces.ts'
import { Link } from '../../../drivers/link/link.ts'
import { VirtualClock } from '../../../main/station/clocks/virtual.ts'
import { applyFault, checkPossible } from '../../../simulator/faults/apply.ts'
import { FaultOrder, type FaultRecord } from '../../../simulator/faults/order.ts'
import { type RandomStream, randomStream } from '../../../simulator/physics/randomness.ts'
import { Room } from '../../../simulator/physics/room.ts'
import { openPeer, type Peer, type SoakBus } from './peer.ts'

/** What some thousand exchanges over one bus came to. */
export interface BusRun {
  readonly bus: SoakBus
  readonly exchanges: number
  /** Answers believed that belong to another question. */
  readonly wrong: number
  /** Orders that the far end heard after the station had given them up, or twice, or out of their turn. */
  readonly stale: number
  /** Answers that were believed and right; the others were missed, late, broken or refused, and said so. */
  readonly good: number
  readonly orders: number
  readonly reconnects: number
  readonly faults: Readonly<Record<string, number>>
  readonly hours: number
  readonly realS: number
}

const FIRST_BYTE_MS = 500
const LATE_MS = 500
/** Of a hundred exchanges, how many begin with a fault. */
const FAULTS_PERCENT = 4

const NOBODY: Identity = { maker: '', model: '', serial: '', firmware: '', raw: 'far' }

/** Questions and orders over one bus with its faults, each judged by what the far end knows. */
export async function runBus(bus: SoakBus, exchanges: number, seed: number): Promise<BusRun> {
  const from = performance.now()
  const clock = new VirtualClock({ startUtcUs: Date.UTC(2026, 2, 1, 18) * 1000 })
  const log: FaultRecord[] = []
  const peer = await openPeer(bus, seed, clock, log)
  const stream = randomStream(seed, `exchanges ${bus}`)
  const room = new Room(seed, clock)
  const link = linkTo(peer, bus, clock, stream)
  let reconnects = 0
  link.onDidChangeStatus(({ state }) => {
    if (state === 'lost') reconnects++
  })
  const counts = { wrong: 0, good: 0 }
  /** When each order was given up or done. */
  const overUs = new Map<number, number>()
  try {
    await link.open()
    for (let n = 1; n <= exchanges; n++) {
      if (stream.uniform() * 100 < FAULTS_PERCENT) order(peer, drawFault(peer, bus, stream), room)
      if (stream.uniform() < 0.3) {
        await tell(link, peer, n)
        overUs.set(n, clock.now().monoUs)
      } else {
        const value = await ask(link, peer, n)
        if (value === peer.expected(n)) counts.good++
        else if (value !== undefined) counts.wrong++
      }
      await link.pace(1000)
    }
    // Whatever is still on its way has its time to do harm.
    await clock.sleep(60_000)
  } finally {
    await link.close()
    await peer.close()
    clock.stop()
  }
  const faults: Record<string, number> = {}
  for (const { order: each } of log) faults[each.kind] = (faults[each.kind] ?? 0) + 1
  return {
    bus,
    exchanges,
    ...counts,
    stale: staleOf(peer, overUs),
    orders: overUs.size,
    reconnects,
    faults,
    hours: clock.now().monoUs / 3.6e9,
    realS: (performance.now() - from) / 1000,
  }
}

function linkTo(peer: Peer, bus: SoakBus, clock: VirtualClock, stream: RandomStream): Link {
  const recognised = (text: string) => peer.identity.test(text)
  return new Link({
    name: 'far end',
    clock,
    connect: peer.connect,
    framing: { end: { kind: 'terminator', text: '\n' }, maxBytes: 1024, tokens: [], blocks: false },
    pace: { interByteMs: 200, lateMs: LATE_MS, gapMs: 0 },
    // As a profile's link over Modbus RTU has it: without numbers only silence tells that nothing is on its way.
    quietMs: bus === 'modbus-rtu' ? LATE_MS : 20,
    identify: async (talk) => {
      const outcome = await talk.exchange({ ...request(peer.identify), accept: recognised })
      if (outcome.kind !== 'reply') throw new Error('nobody answers')
      return NOBODY
    },
    recover: async (talk) =>
      (await talk.exchange({ ...request(peer.identify), accept: recognised })).kind === 'reply',
    random: () => stream.uniform(),
  })
}

const request = (bytes: string, replies = 1) => ({
  bytes,
  replies,
  firstByteMs: FIRST_BYTE_MS,
  replyMs: 1000,
})

/** The number answered; undefined where the answer was missed, late, broken, or is not to be read. */
async function ask(link: Link, peer: Peer, n: number): Promise<number | undefined> {
  try {
    return await link.run(async (talk) => {
      const outcome = await talk.exchange(request(peer.question(n)))
      if (outcome.kind !== 'reply') return undefined
      const value = peer.read(outcome.text)
      if (value === undefined) talk.spoil(`"${outcome.text}" is no answer`)
      return value
    })
  } catch {
    return undefined
  }
}

async function tell(link: Link, peer: Peer, n: number): Promise<void> {
  try {
    await link.run(async (talk) => {
      await talk.exchange(request(peer.order(n), peer.acknowledges ? 1 : 0))
      // An order without an answer is followed by a question, as profiles do: then it is known whether it was taken.
      const outcome = await talk.exchange(request(peer.question(n)))
      if (outcome.kind === 'reply' && peer.read(outcome.text) === undefined) talk.spoil('no answer')
    })
  } catch {
    // Refused while the link is away: it must never be heard.
  }
}

/** Orders heard twice, out of their turn, or after they were given up. */
function staleOf({ heard }: Peer, overUs: ReadonlyMap<number, number>): number {
  let last = 0
  let stale = 0
  for (const { n, atUs } of heard) {
    if (n <= last || atUs > (overUs.get(n) ?? Number.NEGATIVE_INFINITY)) stale++
    last = Math.max(last, n)
  }
  return stale
}

function drawFault({ instrument }: Peer, bus: SoakBus, stream: RandomStream): FaultOrder {
  const common: readonly FaultOrder['kind'][] = [
    'silence',
    'late',
    'connection-drop',
    'port-vanish',
    'power-cut',
  ]
  const ofText: readonly FaultOrder['kind'][] = instrument.hasText ? ['doubled', 'half-line', 'garbage'] : []
  const kinds = [...common, ...ofText, ...(instrument.port.bus?.faults ?? [])]
  const kind = kinds[stream.integer(kinds.length)]!
  const times = 1 + stream.integer(2)
  const forS = 0.5 + 4 * stream.uniform()
  // Without a number on each answer only the time tells a late one: none comes later than the link waits for it.
  const latest = bus === 'modbus-rtu' ? (FIRST_BYTE_MS + LATE_MS - 50) / 1000 : 20
  const byS = 0.1 + (latest - 0.1) * stream.uniform()
  return FaultOrder.parse({
    instrument: 'far',
    kind,
    ...(kind === 'late-packet' && { byS, times }),
    ...(kind === 'late' && { byS: 0.1 + Math.min(2, latest - 0.1) * stream.uniform(), times }),
    ...(kind === 'service-requests' && { count: 1 + stream.integer(500) }),
    ...(['port-vanish', 'power-cut', 'locked-by-other'].includes(kind) && { forS }),
    ...(['silence', 'lost-packet', 'half-packet', 'doubled-packet', 'wrong-id', 'noisy-packet'].includes(
      kind,
    ) && {
      times,
    }),
  })
}

function order({ instrument }: Peer, fault: FaultOrder, room: Room): void {
  const target = { instrument, bath: undefined, room, contacts: undefined }
  checkPossible(fault, target)
  applyFault(fault, target)
}
