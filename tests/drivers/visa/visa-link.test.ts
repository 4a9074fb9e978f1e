import { expect, it } from 'vitest'
import { VISA_STATUS, type VisaAsk, type VisaTold } from '../../../app/buses/visa.ts'
import { visaConnect } from '../../../drivers/link/visa.ts'
import { startVisaBy } from '../../../drivers/link/visa-peer.ts'
import { VirtualClock } from '../../../main/station/clocks/virtual.ts'

type Answers = { [A in VisaAsk['ask']]?: (ask: Extract<VisaAsk, { ask: A }>) => Partial<VisaTold> }

/** A link whose library answers as it is told to, each read and write after `afterMs`; what was asked of it is kept in order. */
async function setUp(answers: Answers, afterMs = 0) {
  const clock = new VirtualClock({ startUtcUs: 0 })
  const asked: VisaAsk[] = []
  startVisaBy(({ answer }) => ({
    pid: undefined,
    send: async ({ id, ask }) => {
      asked.push(ask)
      if (ask.ask === 'read' || ask.ask === 'write') await clock.sleep(afterMs)
      const told = (answers[ask.ask] as ((ask: VisaAsk) => Partial<VisaTold>) | undefined)?.(ask)
      answer({ id, told: { status: VISA_STATUS.success, words: '', call: ask.ask, ...told } })
    },
    kill: () => undefined,
  }))
  const heard: string[] = []
  const connect = visaConnect(
    { resource: 'GPIB0::5::INSTR', library: undefined, shared: false, terminator: '\n', ...limits },
    clock,
  )
  const wire = await connect(
    {
      data: (chunk) => void heard.push(Buffer.from(chunk).toString('latin1')),
      note: (words) => void heard.push(`(${words})`),
      closed: ({ code }) => void heard.push(`closed: ${code}`),
      serviceRequest: () => undefined,
    },
    new AbortController().signal,
  )
  return { clock, wire, heard, asked, after: (ask: string) => asked.filter((each) => each.ask === ask) }
}
const limits = { connectMs: 2000, owner: 'test' }
const text = (words: string, isPart = false): Partial<VisaTold> => ({ data: Buffer.from(words), isPart })
const refused = (status: number) => () => ({ status, words: 'in its own words' })

it('loses the link where the library refuses what is sent, and nothing more is asked of it', async () => {
  const { clock, wire, heard, after } = await setUp({ write: refused(VISA_STATUS.connectionLost) })
  wire.write('R?\n', 1000)
  await clock.sleep(10)
  wire.write('R?\n', 1000)
  await clock.sleep(10)
  expect(heard).toEqual(['closed: lost'])
  expect([after('write').length, after('read').length, after('close').length]).toEqual([1, 0, 1])
  clock.stop()
})

it('notes what was not taken in time, keeps the link and sends nothing more before a device clear', async () => {
  let isBusy = true
  const { clock, wire, heard, after } = await setUp({
    write: () => (isBusy ? refused(VISA_STATUS.timeout)() : {}),
    read: () => text('100.025\n'),
  })
  wire.write('R?\n', 1000)
  await clock.sleep(10)
  wire.write('R?\n', 1000)
  await clock.sleep(10)
  expect(heard).toEqual(['(GPIB0::5::INSTR: write: in its own words)'])
  expect(after('write')).toHaveLength(1)
  isBusy = false
  expect(await wire.clear!()).toBe('done')
  wire.write('R?\n', 1000)
  await clock.sleep(10)
  expect(heard.slice(1).join('')).toBe('(device clear)100.025\n')
  wire.destroy()
  clock.stop()
})

it('leaves an answer that does not come to whoever waits, and loses the link where reading is refused', async () => {
  const late = await setUp({ read: refused(VISA_STATUS.timeout) })
  late.wire.write('R?\n', 1000)
  await late.clock.sleep(10)
  expect(late.heard).toEqual([])
  late.wire.destroy()
  late.clock.stop()
  const gone = await setUp({ read: refused(VISA_STATUS.connectionLost) })
  gone.wire.write('R?\n', 1000)
  await gone.clock.sleep(10)
  expect(gone.heard).toEqual(['closed: lost'])
  gone.clock.stop()
})

it('waits for an answer in several parts no longer in all than for one in one part', async () => {
  const parts = [text('100.', true), text('02', true), text('5\n')]
  const { clock, wire, heard, after } = await setUp({ read: () => parts.shift()! }, 300)
  wire.write('R?\n', 1000)
  await clock.sleep(2000)
  expect(heard.join('')).toBe('100.025\n')
  expect(after('read')).toMatchObject([{ waitMs: 1000 }, { waitMs: 700 }, { waitMs: 400 }])
  wire.destroy()
  clock.stop()
})

it('gives up an answer that never ends when its time is over', async () => {
  const { clock, wire, heard, after } = await setUp({ read: () => text('x', true) }, 300)
  wire.write('R?\n', 1000)
  await clock.sleep(20_000)
  expect(heard.join('')).toBe('xxxx')
  expect(after('read')).toHaveLength(4)
  expect(await wire.clear!()).toBe('done')
  wire.destroy()
  clock.stop()
})

it('sends the line where the library has no trigger, and fails a device clear where something is left to be read', async () => {
  const { clock, wire, heard, asked } = await setUp({
    trigger: refused(VISA_STATUS.notSupported),
    clear: refused(VISA_STATUS.notSupported),
    // MAV, bit 4 of the status byte (IEEE 488.2, 11.2; number from memory).
    status: () => ({ byte: 16 }),
  })
  wire.trigger!('*TRG\n')
  await clock.sleep(10)
  expect(asked.at(-1)).toMatchObject({ ask: 'write', bytes: Uint8Array.from(Buffer.from('*TRG\n')) })
  expect(await wire.clear!()).toBe('failed')
  expect(heard).toEqual(['(device clear)'])
  wire.destroy()
  clock.stop()
})

it('throws an answer away that comes while the device is cleared', async () => {
  const { clock, wire, heard } = await setUp({ read: () => text('100.025\n') }, 300)
  wire.write('R?\n', 1000)
  await clock.sleep(400)
  expect(await wire.clear!()).toBe('done')
  expect(heard).toEqual(['(device clear)', expect.stringMatching(/thrown away/)])
  wire.destroy()
  clock.stop()
})
