import { describe, expect, it } from 'vitest'
import type { UsbDevice } from '../../../drivers/link/usb-device.ts'
import { usbtmcConnect } from '../../../drivers/link/usbtmc.ts'
import type { WireListener } from '../../../drivers/link/wire.ts'
import { VirtualClock } from '../../../main/station/clocks/virtual.ts'

/** Requests, states and headers as USBTMC 1.0, 3 and 4.2.1, numbers them (from memory), written out anew. */
const ABORT_OUT = 1
const OUT_STATUS = 2
const ABORT_IN = 3
const IN_STATUS = 4
const CLEAR = 5
const CLEAR_STATUS = 6
const CAPABILITIES = 7
const OK = 1
const PENDING = 2
const NOT_IN_PROGRESS = 0x81
const OUT = 2
const IN = 0x81

/** A device of USBTMC without USB488 that does what it is told to; everything it was asked is kept in order. */
function setUp() {
  const clock = new VirtualClock({ startUtcUs: 0 })
  const asked: string[] = []
  const waits: number[] = []
  const far = {
    takes: true,
    /** Parts of the answer, one for each asking; the last one ends it. How long each takes to come, ms. */
    parts: [] as string[],
    afterMs: 0,
    states: {} as Record<number, number[]>,
  }
  let tag = 0
  const device: UsbDevice = {
    tmc: {
      ...{ configuration: 1, number: 0, protocol: 0, packetBytes: 64 },
      ...{ bulkOut: OUT, bulkIn: IN, interruptIn: undefined },
    },
    control: async ({ request, value, length }) => {
      const state = far.states[request]?.shift() ?? OK
      asked.push(`${request}${value === 0 ? '' : ` of ${value}`}`)
      const told = new Uint8Array(length)
      told[0] = state
      return told
    },
    send: async (_endpoint, bytes) => {
      if (!far.takes) {
        tag = bytes[1]!
        return false
      }
      if (bytes[0] === 2) tag = bytes[1]!
      else asked.push(`sent ${Buffer.from(bytes.subarray(12, 12 + bytes[4]!)).toString()}`)
      return true
    },
    receive: async (_endpoint, _length, waitMs) => {
      waits.push(waitMs!)
      const isThere = far.parts.length > 0 && far.afterMs <= waitMs!
      await clock.sleep(isThere ? far.afterMs : waitMs!)
      if (!isThere) return undefined
      const part = far.parts.shift()!
      const isLast = far.parts.length === 0
      const head = [2, tag, ~tag & 0xff, 0, part.length, 0, 0, 0, isLast ? 1 : 0, 0, 0, 0]
      return Uint8Array.from([...head, ...Buffer.from(part)])
    },
    cancel: async () => void asked.push('cancel'),
    clearHalt: async (endpoint) => void asked.push(`go ${endpoint}`),
    close: () => undefined,
  }
  const heard: string[] = []
  const notes: string[] = []
  const listener: WireListener = {
    data: (chunk) => void heard.push(Buffer.from(chunk).toString('latin1')),
    closed: (fault) => void notes.push(`closed: ${fault.message}`),
    note: (words) => void notes.push(words),
    serviceRequest: () => undefined,
  }
  const address = {
    vendor: 1,
    product: 2,
    serial: undefined,
    at: `${Math.random()}`,
    terminator: '\n',
    owner: 'x',
  }
  const open = async () => {
    const wire = await usbtmcConnect(
      address,
      async () => device,
      clock,
    )(listener, new AbortController().signal)
    asked.length = 0
    return wire
  }
  return { clock, far, asked, waits, heard, notes, open, tag: () => tag }
}

describe('an answer over USBTMC', () => {
  it('in several parts is waited for no longer in all than one in one part', async () => {
    const { clock, far, waits, heard, open } = setUp()
    const wire = await open()
    Object.assign(far, { parts: ['100.', '02', '5\n'], afterMs: 300 })
    wire.write('R?\n', 1000)
    await clock.sleep(1500)
    expect(heard.join('')).toBe('100.025\n')
    expect(waits).toEqual([1000, 700, 400])
    clock.stop()
  })

  it('that never ends is given up when its time is over', async () => {
    const { clock, far, waits, heard, open } = setUp()
    const wire = await open()
    Object.assign(far, { parts: Array.from({ length: 50 }, () => 'x'), afterMs: 300 })
    wire.write('R?\n', 1000)
    await clock.sleep(20_000)
    expect(heard.join('')).toBe('xxx')
    expect(waits).toEqual([1000, 700, 400, 100])
    clock.stop()
  })
})

describe('a device clear over USBTMC', () => {
  it('ends what was not taken first, as often as it takes, and sets the endpoint going', async () => {
    const { clock, far, asked, notes, open, tag } = setUp()
    const wire = await open()
    far.takes = false
    wire.write('R?\n')
    await clock.sleep(10)
    expect(notes).toEqual(['the instrument does not take what is sent'])
    far.states = { [OUT_STATUS]: [PENDING, PENDING, OK], [CLEAR_STATUS]: [PENDING, OK] }
    expect(await wire.clear!()).toBe('done')
    expect(asked).toEqual([
      ...[
        'cancel',
        `${ABORT_OUT} of ${tag()}`,
        `${OUT_STATUS}`,
        `${OUT_STATUS}`,
        `${OUT_STATUS}`,
        `go ${OUT}`,
      ],
      ...[`${CLEAR}`, `${CLEAR_STATUS}`, `${CLEAR_STATUS}`, `go ${OUT}`, `go ${IN}`],
    ])
    far.takes = true
    wire.write('S 1\n')
    await clock.sleep(10)
    expect(asked.at(-1)).toBe('sent S 1\n')
    clock.stop()
  })

  it.each<[string, Record<number, number[]>, string]>([
    ['is done where the device knows of no transfer', { [ABORT_OUT]: [NOT_IN_PROGRESS] }, 'done'],
    ['fails where the transfer is not ended', { [OUT_STATUS]: [NOT_IN_PROGRESS] }, 'failed'],
    [
      'fails where it is never ended',
      { [OUT_STATUS]: Array.from({ length: 1000 }, () => PENDING) },
      'failed',
    ],
    ['fails where it is refused', { [CLEAR]: [NOT_IN_PROGRESS] }, 'failed'],
    ['fails where it is not carried out', { [CLEAR_STATUS]: [NOT_IN_PROGRESS] }, 'failed'],
  ])('%s', async (_what, states, outcome) => {
    const { clock, far, asked, open } = setUp()
    const wire = await open()
    far.takes = false
    wire.write('R?\n')
    await clock.sleep(10)
    far.states = states
    expect(await wire.clear!()).toBe(outcome)
    expect(asked.includes(`${OUT_STATUS}`)).toBe(states[ABORT_OUT] === undefined)
    clock.stop()
  })

  it('takes back an answer that was asked for, and reads away what the device still gives', async () => {
    const { clock, far, asked, notes, open, tag } = setUp()
    const wire = await open()
    wire.write('R?\n', 100)
    await clock.sleep(200)
    asked.length = 0
    far.parts = ['late\n']
    far.states = { [IN_STATUS]: [PENDING, OK] }
    expect(await wire.clear!()).toBe('done')
    expect(asked.slice(0, 4)).toEqual(['cancel', `${ABORT_IN} of ${tag()}`, `${IN_STATUS}`, `${IN_STATUS}`])
    expect(notes).toContain('an answer was thrown away by the device clear')
    // What the device does not know of is not waited for.
    wire.write('R?\n', 100)
    await clock.sleep(200)
    asked.length = 0
    far.states = { [ABORT_IN]: [NOT_IN_PROGRESS] }
    expect(await wire.clear!()).toBe('done')
    expect(asked).not.toContain(`${IN_STATUS}`)
    clock.stop()
  })

  it('is asked of no device that tells no capabilities', async () => {
    const { clock, far, open } = setUp()
    far.states = { [CAPABILITIES]: [NOT_IN_PROGRESS] }
    await expect(open()).rejects.toMatchObject({ code: 'lost' })
    clock.stop()
  })
})
