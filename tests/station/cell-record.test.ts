import { join } from 'node:path'
import { expect, it } from 'vitest'
import { cellRecordIn } from '../../main/station/cell-record.ts'
import { createSessionFile } from '../../main/store/session-file.ts'
import { BENCH, REGISTER } from '../app/results/bench-fixture.ts'
import {
  exampleClock,
  exampleEvent,
  exampleInfo,
  exampleSetup,
  START_UTC_US,
  scan,
  temporaryFolder,
} from '../store/example.ts'

const [ref] = BENCH.channels

/** Ten seconds of a reference at two currents, a copy that is off, and another thermometer at the second current. */
function session() {
  const other = BENCH.channels.find((c) => c.thermometer !== undefined && c.thermometer !== ref!.thermometer)!
  const channels = [
    { ...ref!, id: 'ch1', currentMa: 1 },
    { ...ref!, id: 'ch2', currentMa: Math.SQRT2 },
    { ...ref!, id: 'ch3', currentMa: 2, enabled: false },
    { ...ref!, id: 'ch4', currentMa: 1 },
    { ...other, id: 'ch5', currentMa: Math.SQRT2 },
  ]
  const setup = { ...exampleSetup, bench: { ...BENCH, channels }, register: REGISTER }
  const info = { ...exampleInfo, startedUtcUs: Date.UTC(2025, 6, 1) * 1000 }
  const file = createSessionFile(join(temporaryFolder(), 'cell.session'), {
    info,
    setup,
    clock: exampleClock(),
  })
  for (let tick = 0; tick < 10; tick += 1) file.commit({ readings: scan(tick, 5) })
  return file
}

const leaveOut = (channel: string, fromSeq: number, toSeq: number) => ({
  ...exampleEvent('A draught.'),
  kind: 'amendment' as const,
  who: 'M. Ode',
  data: { target: { what: 'readings', channel, fromSeq, toSeq }, why: 'a draught' },
})

/** seq of the readings of the first channel: it is the first of five in every scan. */
const FIRST = Array.from({ length: 10 }, (_, tick) => 5 * tick + 1)

it('gives what a channel recorded, and beside it the same thermometer at other currents alone', () => {
  const file = session()
  const record = cellRecordIn(file, { channel: 'ch1' })
  expect(record.readings.map(({ seq }) => seq)).toEqual(FIRST)
  expect(record.channel.id).toBe('ch1')
  expect(record.thermometer!.id).toBe(ref!.thermometer)
  expect(record.beside!.map(({ channel }) => channel.id)).toEqual(['ch2'])
  expect(record.beside![0]!.readings.map(({ seq }) => seq)).toEqual(FIRST.map((seq) => seq + 1))
  file.close()
})

it('has nothing beside a channel of which nobody said what is connected to it', () => {
  const { thermometer: _, ...none } = ref!
  const channels = [
    { ...none, id: 'ch1', currentMa: 1 },
    { ...none, id: 'ch2', currentMa: Math.SQRT2 },
  ]
  const file = createSessionFile(join(temporaryFolder(), 'cell.session'), {
    info: exampleInfo,
    setup: { ...exampleSetup, bench: { ...BENCH, channels }, register: REGISTER },
    clock: exampleClock(),
  })
  const { beside, thermometer, bridge } = cellRecordIn(file, { channel: 'ch1' })
  expect([beside, thermometer]).toEqual([[], undefined])
  expect(bridge).toBe(BENCH.instruments.find(({ id }) => id === ref!.instrument)?.register)
  file.close()
})

it('keeps to the stretch that is asked for', () => {
  const file = session()
  const stretch = { fromUtcUs: START_UTC_US + 2_000_000, toUtcUs: START_UTC_US + 4_000_000 }
  const record = cellRecordIn(file, { channel: 'ch1', ...stretch })
  expect(record.readings.map(({ seq }) => seq)).toEqual(FIRST.slice(2, 5))
  file.close()
})

it('leaves out the readings that an amendment leaves out, both ends with them, and no others', () => {
  const file = session()
  file.commit({ events: [leaveOut('ch1', 11, 21), leaveOut('ch2', 47, 47), leaveOut('ch5', 1, 50)] })
  const record = cellRecordIn(file, { channel: 'ch1' })
  expect(record.readings.map(({ seq }) => seq)).toEqual([1, 6, 26, 31, 36, 41, 46])
  expect(record.beside![0]!.readings.map(({ seq }) => seq)).toEqual([2, 7, 12, 17, 22, 27, 32, 37, 42])
  file.close()
})

it('names the channels of a session that has not the one asked for', () => {
  const file = session()
  expect(() => cellRecordIn(file, { channel: 'ch9' })).toThrow(/ch1, ch2, ch3, ch4, ch5/)
  file.close()
})
