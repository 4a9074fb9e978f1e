import { describe, expect, it } from 'vitest'
import type { Identity } from '../../../app/instruments/faces.ts'
import { asTold } from '../../../app/messages/said.ts'
import { Link } from '../../../drivers/link/link.ts'
import { WireFault, type WireListener } from '../../../drivers/link/wire.ts'
import { VirtualClock } from '../../../main/station/clocks/virtual.ts'
import { ask, FRAMING } from './wire-stub.ts'

/** A link whose far end can be taken away, exchanged, or cut in the middle of its identification. */
function setUp(first: Pick<Identity, 'serial' | 'raw'>) {
  const clock = new VirtualClock({ startUtcUs: 0 })
  const far = { ...first, present: true, cutWhileIdentifying: 0 }
  let wire: WireListener | undefined
  const link = new Link({
    name: 'bridge',
    clock,
    random: () => 0.5,
    framing: FRAMING,
    pace: { interByteMs: 100, lateMs: 500, gapMs: 0 },
    quietMs: 20,
    connect: async (listener) => {
      if (!far.present) throw new WireFault('no-such-port', asTold('the port is not there.'))
      wire = listener
      return {
        write: () => {
          const reply = far.raw
          clock.after(5, () => listener.data(Buffer.from(`${reply}\n`)))
        },
        destroy: () => {},
      }
    },
    identify: async (talk) => {
      const { kind, text } = await talk.exchange(ask('*IDN?'))
      if (kind !== 'reply') throw new WireFault('silent', asTold('nobody answers.'))
      if (far.cutWhileIdentifying > 0) {
        far.cutWhileIdentifying -= 1
        wire!.closed(new WireFault('lost', asTold('the cable was pulled.')))
      }
      return { maker: '', model: '', firmware: '', serial: far.serial, raw: text }
    },
    recover: async () => true,
  })
  const cut = () => wire!.closed(new WireFault('lost', asTold('the cable was pulled.')))
  return { clock, link, far, cut }
}

describe('Link', () => {
  it('is not ready where the wire was lost while the instrument was being identified', async () => {
    const { clock, link, far } = setUp({ serial: '1', raw: 'Q,X,1,1' })
    far.cutWhileIdentifying = 2
    await expect(link.open()).rejects.toMatchObject({ code: 'lost', message: 'the cable was pulled.' })
    expect(link.status.state).toBe('connecting')
    await clock.sleep(3_000)
    // The third attempt is left alone.
    expect(link.status.state).toBe('ready')
    clock.stop()
  })

  it('takes no other instrument for its own, with a serial number or without one', async () => {
    for (const [own, other] of [
      [
        { serial: '1', raw: 'Q,X,1,1' },
        { serial: '2', raw: 'Q,X,2,1' },
      ],
      [
        { serial: '', raw: 'OLD BRIDGE' },
        { serial: '', raw: 'OLD METER' },
      ],
    ] as const) {
      const { clock, link, far, cut } = setUp(own)
      await link.open()
      Object.assign(far, other)
      cut()
      await clock.sleep(10_000)
      expect(link.status).toMatchObject({ state: 'lost', cause: 'wrong-instrument' })
      expect(link.status.words).toContain(
        `another instrument answers here: "${other.raw}" instead of "${own.raw}"`,
      )
      Object.assign(far, own)
      const backUs = clock.now().monoUs
      while (link.status.state !== 'ready') await clock.sleep(10)
      expect((clock.now().monoUs - backUs) / 1e6).toBeLessThan(1)
      clock.stop()
    }
  })

  it('takes one that is put back within a second, however long it was away in the last hour', async () => {
    const { clock, link, far, cut } = setUp({ serial: '1', raw: 'Q,X,1,1' })
    await link.open()
    for (const awayS of [1, 30, 600, 1800]) {
      far.present = false
      cut()
      await clock.sleep(awayS * 1000)
      expect(link.status).toMatchObject({ state: 'lost', cause: 'no-such-port' })
      far.present = true
      const backUs = clock.now().monoUs
      while (link.status.state !== 'ready') await clock.sleep(10)
      expect((clock.now().monoUs - backUs) / 1e6).toBeLessThan(1)
    }
    clock.stop()
  })
})
