/** The bench that the station's rows are measured on: meters of eight inputs, each on a port of its own. */
import { Bench } from '../../app/records/bench.ts'

export const METERS = 12
export const INPUTS = 8
export const CHANNELS = METERS * INPUTS

export const PROFILE = {
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
    identify: { doc: 'Get who it is.', send: '*IDN?', risk: 'read-only', answer: { kind: 'text' } },
    read: {
      doc: 'Measure the resistance of an input.',
      send: 'READ? {input}',
      risk: 'read-only',
      answer: { kind: 'value', unit: 'ohm', pattern: '^(?<value>[^,]+),(?<input>\\d+)$' },
    },
  },
  capabilities: { measure: ['read'] },
} as const

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
