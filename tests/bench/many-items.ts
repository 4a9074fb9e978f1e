import type { SessionSetup } from '../../app/records/session.ts'
import { createSessionFile } from '../../main/store/session-file.ts'
import { fixtureSession } from '../report/session-fixture.ts'

/** Channels that are taken again and again: two industrial thermometers, a standard one and a thermistor. */
const MODELS = ['x1', 'x2', 'x3', 'x4'] as const

/**
 * A night of many items at `path`, each at every point: the fixture's four thermometers again and again, each with a name, a
 * serial number and readings of its own. Readings of the reference are stored; the others' points stand for them.
 */
export function manyItems(path: string, items: number, points: number): void {
  const setpoints = Array.from({ length: points }, (_, i) => (100 * i) / Math.max(1, points - 1))
  const { session } = fixtureSession(`${path}.model`, { seed: 1, setpoints, cell: 'none', readings: 6 })
  const { info, setup } = session
  const copies = Array.from({ length: items }, (_, n) => ({
    id: `i${n + 1}`,
    model: MODELS[n % MODELS.length]!,
    n: n + 1,
  }))
  const night = createSessionFile(path, {
    info: { ...info, id: 'many', endedUtcUs: null, ending: null },
    setup: withCopies(setup, copies),
    clock: { now: () => ({ utcUs: info.endedUtcUs!, monoUs: info.endedUtcUs! - info.startedUtcUs }) },
  })
  for (let from = 0; from < session.lastSeq; from += 5000) {
    const readings = session.since(from, 5000).filter(({ channel }) => channel === 's0')
    if (readings.length > 0) night.commit({ readings: readings.map(({ seq: _, ...rest }) => rest) })
  }
  for (const { readings: _, ...point } of session.points()) {
    const of = (id: string) => point.channels.find(({ channel }) => channel === id)!
    night.commit({
      points: [
        { ...point, channels: [of('s0'), ...copies.map(({ id, model }) => ({ ...of(model), channel: id }))] },
      ],
    })
  }
  night.finish('complete', 'plan done')
  night.close()
  session.close()
}

function withCopies(
  setup: SessionSetup,
  copies: readonly { id: string; model: string; n: number }[],
): SessionSetup {
  const { bench, register } = setup
  const channelOf = (id: string) => bench.channels.find((channel) => channel.id === id)!
  const recordOf = (id: string) => register.thermometers.find((one) => one.id === channelOf(id).thermometer)!
  return {
    ...setup,
    bench: {
      ...bench,
      channels: [
        channelOf('s0'),
        ...copies.map(({ id, model, n }) => ({
          ...channelOf(model),
          id,
          name: `Item ${n}`,
          thermometer: `item-${n}`,
        })),
      ],
    },
    register: {
      ...register,
      thermometers: [
        recordOf('s0'),
        ...copies.map(({ model, n }) => ({
          ...recordOf(model),
          id: `item-${n}`,
          name: `Item ${n}`,
          serial: `S-${n}`,
        })),
      ],
    },
  }
}
