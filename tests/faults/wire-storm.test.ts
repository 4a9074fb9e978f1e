import { describe, expect, it } from 'vitest'
import type { Bath, Meter, TrafficLine } from '../../app/instruments/faces.ts'
import { asTold } from '../../app/messages/said.ts'
import type { BenchInstrument } from '../../app/records/bench.ts'
import { loadProfiles, openInstrument } from '../../drivers/index.ts'
import { tcpConnect } from '../../drivers/link/tcp.ts'
import { type Connect, WireFault } from '../../drivers/link/wire.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { startLab } from '../../simulator/lab.ts'
import { randomStream } from '../../simulator/physics/randomness.ts'

const profiles = await loadProfiles()

/** Passes bytes on and cuts the wire at any byte: before it, in the middle of a reply, or after it. */
function cutting(inner: Connect, draw: () => number, cuts: { count: number }): Connect {
  return async (listener, signal) => {
    let cut = false
    const wire = await inner(
      {
        ...listener,
        data: (chunk) => {
          if (cut) return
          if (draw() > 0.06) return listener.data(chunk)
          cut = true
          cuts.count++
          listener.data(Buffer.from(chunk.subarray(0, Math.floor(draw() * (chunk.length + 1)))))
          wire.destroy()
          listener.closed(new WireFault('lost', asTold('the cable was pulled.')))
        },
      },
      signal,
    )
    return wire
  }
}

async function storm<I extends Meter | Bath>(
  id: string,
  act: (instrument: I, round: number) => Promise<void>,
  rounds: number,
) {
  const clock = new VirtualClock({ startUtcUs: 0 })
  const lab = await startLab({ seed: 5, clock, scenario: 'mixed' })
  const stream = randomStream(9, id)
  const spec = lab.bench.instruments.find((each) => each.id === id) as BenchInstrument
  if (spec.link.kind !== 'tcp') throw new Error('the lab should be on TCP')
  const cuts = { count: 0 }
  const inner = tcpConnect({ ...spec.link, connectMs: 2000, owner: id }, clock)
  const connect = cutting(inner, () => stream.uniform(), cuts)
  const instrument = openInstrument({ spec, clock, profiles, random: () => stream.uniform(), connect }) as I
  const traffic: TrafficLine[] = []
  instrument.onTraffic((line) => traffic.push(line))
  await instrument.open().catch(() => undefined)
  for (let round = 0; round < rounds; round++) {
    await act(instrument, round)
    await clock.sleep(50)
  }
  await instrument.close()
  await lab.close()
  clock.stop()
  return { traffic, cuts: cuts.count }
}

/** Lines sent, cut into the connections they were sent over. */
function byConnection(traffic: readonly TrafficLine[]): string[][] {
  const connections: string[][] = []
  for (const line of traffic) {
    if (line.direction === 'note' && line.text === 'connected') connections.push([])
    if (line.direction === 'sent') connections.at(-1)!.push(line.text.replace(/\\x0A$/, ''))
  }
  return connections
}

describe('a wire that is cut five hundred times at any byte', () => {
  it('never has a reading of one input taken for another’s', async () => {
    const wanted: number[] = []
    const good: { input: number; atUs: number }[] = []
    const { traffic, cuts } = await storm<Meter>(
      'bridge',
      async (bridge, round) => {
        const input = 1 + (round % 4)
        wanted.push(input)
        const measured = await bridge.measure({ input, average: 1 })
        if (!measured.marks.includes('silent') && !measured.marks.includes('garbled'))
          good.push({ input, atUs: measured.at.monoUs })
      },
      2500,
    )
    expect(cuts).toBeGreaterThan(500)
    expect(good.length).toBeGreaterThan(500)
    for (const { input, atUs } of good) {
      // In the connection the reading came over, the last input that was connected before it is the one that was asked for.
      const until = traffic.findLastIndex((line) => line.at.monoUs === atUs && line.direction === 'received')
      const start = traffic.slice(0, until).findLastIndex((line) => line.text === 'connected')
      const selected = traffic
        .slice(start, until)
        .findLast((line) => line.direction === 'sent' && line.text.startsWith('ROUT:CLOS'))
      expect(selected?.text).toBe(`ROUT:CLOS (@${input})\\x0A`)
    }
    for (const connection of byConnection(traffic)) expect(connection[0] ?? '*IDN?').toBe('*IDN?')
  }, 60_000)

  it('never has a setpoint sent over a later connection than the one it was ordered on', async () => {
    let ordered = 0
    const outcomes = { confirmed: 0, refused: 0 }
    const { traffic, cuts } = await storm<Bath>(
      'bath',
      async (bath) => {
        // Each order has a setpoint of its own, so that a second sending would show.
        const celsius = 20 + ++ordered / 1000
        await bath.setSetpoint(celsius).then(
          () => outcomes.confirmed++,
          () => outcomes.refused++,
        )
        await bath.readTemperature()
      },
      2500,
    )
    expect(cuts).toBeGreaterThan(500)
    expect(outcomes.confirmed).toBeGreaterThan(500)
    const sent = byConnection(traffic).flatMap((lines) =>
      lines.filter((line) => line.startsWith('SOUR:TEMP:SPO ')),
    )
    expect(new Set(sent).size).toBe(sent.length)
    const values = sent.map((line) => Number(line.slice(14)))
    expect(values).toEqual(values.toSorted((a, b) => a - b))
  }, 60_000)
})
