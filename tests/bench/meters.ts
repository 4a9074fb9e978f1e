import { Bench } from '../../app/records/bench.ts'
import type { defineDriver } from '../../drivers/profile/define.ts'

export const METERS = 12
export const INPUTS = 8

/** Profile of the meters that station-peer.ts plays. */
export const METER_PROFILE: Parameters<typeof defineDriver>[1] = {
  format: 'stillpoint profile 1',
  id: 'bench-meter',
  title: 'Meter of the bench',
  role: 'meter',
  language: 'plain',
  unit: 'ohm',
  inputs: { count: INPUTS },
  framing: { send: '\n', receive: '\n' },
  identity: {
    ask: 'identify',
    pattern: '^(?<maker>[^,]*),(?<model>[^,]*),(?<serial>[^,]*),(?<firmware>.*)$',
  },
  commands: {
    identify: { doc: 'Who it is.', send: '*IDN?', risk: 'read-only', answer: { kind: 'text' } },
    read: {
      doc: 'The resistance of an input.',
      send: 'READ? {input}',
      risk: 'read-only',
      answer: { kind: 'value', unit: 'ohm', pattern: '^(?<value>[^,]+),(?<input>\\d+)$' },
    },
  },
  capabilities: { measure: ['read'] },
}

/** A bench of these meters, each with all of its inputs. */
export function benchOf(ports: readonly number[], scanEveryS: number): Bench {
  return Bench.parse({
    id: 'bench',
    name: 'Bench',
    instruments: ports.map((port, i) => ({
      id: `m${i}`,
      name: `Meter ${i}`,
      profile: 'bench-meter',
      link: { kind: 'tcp', host: '127.0.0.1', port },
    })),
    channels: ports.flatMap((_, m) =>
      Array.from({ length: INPUTS }, (_, i) => ({
        id: `ch-${m}-${i}`,
        name: `Channel ${m}.${i}`,
        role: 'monitor',
        instrument: `m${m}`,
        input: i + 1,
        route: [],
        settleMs: 0,
        discard: 0,
        average: 1,
        readings: 1,
        currentMa: 1,
      })),
    ),
    scanEveryS,
  })
}
