import { createServer, type Socket } from 'node:net'
import type { Clock } from '../../../app/base/clock.ts'
import type { AnyInstrument, TrafficLine } from '../../../app/instruments/faces.ts'
import type { LinkSpec } from '../../../app/records/bench.ts'
import { openInstrument } from '../../../drivers/open.ts'
import { defineDriver } from '../../../drivers/profile/define.ts'
import { partsOf } from '../../../drivers/profile/library.ts'
import type { ProfileText } from '../../../drivers/profile/schema.ts'
import { SharedLines } from '../../../drivers/profile/shared-lines.ts'
import { VirtualClock } from '../../../main/station/clocks/virtual.ts'
import { HislipDevice } from '../../../simulator/buses/hislip-device.ts'
import { HislipServer } from '../../../simulator/buses/hislip-server.ts'
import { FaultDesk } from '../../../simulator/faults/desk.ts'
import { randomStream } from '../../../simulator/physics/randomness.ts'

/** What a made-up instrument can do while it is spoken to. */
export interface Say {
  /** Sends bytes, each character one. */
  (bytes: string): void
  /** Asks for service; on a plain line there is no such thing. */
  readonly request: (status: number) => void
  readonly clock: Clock
}

/** What a made-up instrument does with one line, its terminator taken off. */
export type Behaviour = (line: string, say: Say) => void

export interface MadeUp {
  readonly clock: VirtualClock
  /** Lines it was sent, all but the question who it is. */
  readonly heard: string[]
  readonly traffic: TrafficLine[]
  /** Speaks by itself. */
  readonly say: (bytes: string) => void
  instrument<T extends AnyInstrument>(id?: string): T
  close(): Promise<void>
}

export const BASE: ProfileText = {
  format: 'stillpoint profile 2',
  id: 'made-up',
  title: 'made up',
  role: 'meter',
  language: 'plain',
  unit: 'ohm',
  framing: { send: '\n', receive: '\n' },
  timing: { firstByteMs: 500, interByteMs: 100, replyMs: 1000, lateMs: 200, quietMs: 20 },
  identity: { ask: 'who', pattern: '^(?<maker>VELDE),(?<model>\\w+),(?<serial>\\d+),1$' },
  commands: {
    who: { doc: 'Who it is.', send: '*IDN?', risk: 'read-only', answer: { kind: 'text' } },
    read: { doc: 'The resistance.', send: 'R?', risk: 'read-only', answer: { kind: 'value', unit: 'ohm' } },
  },
  capabilities: { measure: ['read'] },
}

/** A profile that differs from the base in what is given; commands are added to the base's. */
export const profileOf = (more: Partial<ProfileText>): ProfileText =>
  ({ ...BASE, ...more, commands: { ...BASE.commands, ...more.commands } }) as ProfileText

/**
 * A made-up instrument at a socket on loopback (or at HiSLIP on loopback) that answers *IDN? and behaves as it is told
 * otherwise; what it does not know it does not answer. And the instrument of ours, by its profile, opened.
 */
export async function madeUp(
  text: ProfileText,
  behave: Behaviour,
  {
    bus = 'tcp',
    open = true,
    serials = {},
  }: { bus?: 'tcp' | 'hislip'; open?: boolean; serials?: Readonly<Record<string, string>> } = {},
): Promise<MadeUp> {
  const clock = new VirtualClock({ startUtcUs: 1_772_400_000_000_000 })
  const heard: string[] = []
  const traffic: TrafficLine[] = []
  let buffered = ''
  const hear = (chunk: Buffer, say: Say) => {
    buffered += chunk.toString('latin1')
    for (let end = buffered.indexOf('\n'); end >= 0; end = buffered.indexOf('\n')) {
      const line = buffered.slice(0, end)
      buffered = buffered.slice(end + 1)
      if (line === '*IDN?') say('VELDE,M1,7,1\n')
      else {
        heard.push(line)
        behave(line, say)
      }
    }
  }
  const there = bus === 'tcp' ? await onTcp(clock, hear) : await onHislip(clock, hear)
  const driver = defineDriver('made up', text)
  const profiles = new Map([driver, ...partsOf(driver)].map((each) => [each.profile.id, each]))
  const lines = new SharedLines()
  const instruments = new Map(
    [...profiles.keys()].map((id) => {
      const serial = serials[id]
      const spec = { id, name: id, profile: id, link: there.link, ...(serial !== undefined && { serial }) }
      const made = openInstrument({
        spec,
        clock,
        profiles: { profiles, problems: [] },
        random: () => 0.5,
        lines,
      })
      return [id, made] as const
    }),
  )
  instruments.get(text.id)!.onTraffic((line) => traffic.push(line))
  if (open) for (const instrument of instruments.values()) await instrument.open()
  return {
    clock,
    heard,
    traffic,
    say: there.say,
    instrument: <T extends AnyInstrument>(id = text.id) => instruments.get(id) as unknown as T,
    close: async () => {
      for (const instrument of instruments.values()) await instrument.close()
      await there.close()
      clock.stop()
    },
  }
}

interface There {
  readonly link: LinkSpec
  readonly say: (bytes: string) => void
  close(): Promise<void>
}

async function onTcp(clock: Clock, hear: (chunk: Buffer, say: Say) => void): Promise<There> {
  let client: Socket | undefined
  const speak = (bytes: string) => void client?.write(Buffer.from(bytes, 'latin1'))
  const say: Say = Object.assign(speak, { request: () => undefined, clock })
  const server = createServer((socket) => {
    client = socket
    socket.setNoDelay(true)
    socket.on('data', (chunk) => hear(chunk, say))
    socket.on('error', () => undefined)
  })
  const port = await new Promise<number>((resolve) => {
    server.listen(0, '127.0.0.1', () => resolve((server.address() as { port: number }).port))
  })
  return {
    link: { kind: 'tcp', host: '127.0.0.1', port },
    say: speak,
    close: () =>
      new Promise((resolve) => {
        client?.destroy()
        server.close(() => resolve())
      }),
  }
}

async function onHislip(clock: Clock, hear: (chunk: Buffer, say: Say) => void): Promise<There> {
  const device: HislipDevice = new HislipDevice(
    'hislip0',
    clock,
    new FaultDesk(clock, randomStream(1, 'made up'), []),
    {
      onBytes: (bytes) => hear(bytes, say),
      onGone: () => undefined,
      isAnswerDue: () => false,
      onClear: () => undefined,
      onTrigger: () => undefined,
      onInterrupted: () => undefined,
      statusByte: () => 0,
    },
  )
  const say: Say = Object.assign((bytes: string) => device.write(bytes), {
    request: (status: number) => device.bus.requestService(status),
    clock,
  })
  const server = new HislipServer('127.0.0.1')
  server.add(device)
  await device.open()
  await server.open(0)
  return {
    link: { kind: 'hislip', host: '127.0.0.1', port: server.port, device: 'hislip0' },
    say,
    close: async () => {
      await device.close()
      await server.close()
    },
  }
}
