import { describe, expect, it } from 'vitest'
import type { Meter } from '../../../app/instruments/faces.ts'
import { openInstrument } from '../../../drivers/open.ts'
import { ScriptedPeer } from '../../../drivers/profile/scripted-peer.ts'
import { burstMeter } from '../../../drivers/written/burst-meter.ts'
import { VirtualClock } from '../../../main/station/clocks/virtual.ts'
import { openLab } from '../lab.ts'

const OPEN = [
  '> *IDN?\r\n',
  '< QUENNICK,DM-7,0704,3.0\n',
  '> *CLS\r\n',
  '> CONF:FRES\r\n',
  '> TRIG:SOUR BUS\r\n',
  '> TRIG:COUN 5\r\n',
  '> *ESR?\r\n',
  '< 0\n',
]
const TRIGGER = ['> *TRG\r\n', '> STAT:OPER:COND?\r\n', '< 32\n']

function block(lines: readonly string[]): string {
  const text = lines.join('\n')
  return `#${String(text.length).length}${text.length}${text}`
}

async function measureWith(reply: string) {
  const clock = new VirtualClock({ startUtcUs: 0 })
  const peer = new ScriptedPeer(clock)
  const { id } = burstMeter.profile
  const meter = openInstrument({
    spec: { id: 'm', name: 'meter', profile: id, link: { kind: 'tcp', host: 'script', port: 1 } },
    clock,
    profiles: { profiles: new Map([[id, burstMeter]]), problems: [] },
    connect: peer.connect,
  }) as Meter
  const triggers = Array.from({ length: 5 }, () => TRIGGER).flat()
  peer.expect([...OPEN, '> INIT\r\n', ...triggers, '> TRAC:DATA?\r\n', `< ${reply}\n`])
  await meter.open()
  const measuring = meter.measure({})
  peer.expect(['> *ESR?\r\n', '< 0\n'])
  const measured = await measuring
  await meter.close()
  clock.stop()
  return { measured, problems: peer.problems }
}

describe('burstMeter', () => {
  it('triggers five readings and reports the middle one, digit for digit', async () => {
    const five = ['+1.0000005E+02', '+1.0000001E+02', '+9.9E+01', '+1.0000003E+02', '+1.0000002E+02']
    const { measured, problems } = await measureWith(block(five.map((each) => `${each} OHM`)))
    expect(problems).toEqual([])
    expect(measured).toMatchObject({ value: '+1.0000002E+02', unit: 'ohm', marks: [] })
  })

  it('believes no block that is short of a reading or holds another unit', async () => {
    const four = Array.from({ length: 4 }, () => '+1.0000005E+02 OHM')
    expect((await measureWith(block(four))).measured.marks).toEqual(['garbled'])
    expect((await measureWith(block([...four, '+1.0E+00 V']))).measured.marks).toEqual(['garbled'])
  })

  it('works on the meter of the lab', async () => {
    const bench = await openLab(5)
    const spec = bench.lab.bench.instruments.find((each) => each.id === 'meter')!
    const meter = openInstrument({
      spec: { ...spec, profile: burstMeter.profile.id },
      clock: bench.clock,
      profiles: { profiles: new Map([[burstMeter.profile.id, burstMeter]]), problems: [] },
    }) as Meter
    await meter.open()
    await bench.scanner('old-scanner').open()
    await bench.scanner('old-scanner').select(1)
    const measured = await meter.measure({ input: 1 })
    expect(measured.marks).toEqual([])
    expect(Number(measured.value)).toBeGreaterThan(50)
    await meter.close()
    await bench.close()
  })
})
