import { afterEach, describe, expect, it } from 'vitest'
import { PORTMAP } from '../../../app/buses/portmap.ts'
import { writeReply } from '../../../app/buses/rpc.ts'
import { vxi11Connect } from '../../../drivers/link/vxi11.ts'
import { VirtualClock } from '../../../main/station/clocks/virtual.ts'
import { PortMapper } from '../../../simulator/buses/portmapper.ts'
import { RpcServer } from '../../../simulator/buses/rpc-server.ts'

/** Programs, procedures, flags and reasons as VXI-11, appendix C and B.6, numbers them (from memory), written out anew. */
const CORE = { program: 0x0607af, version: 1 }
const CREATE_LINK = 10
const WRITE = 11
const READ = 12
const END = 8
const READ_END = 4

const HOST = '127.0.0.1'
const open: (() => void | Promise<void>)[] = []
afterEach(async () => {
  for (const close of open.splice(0).reverse()) await close()
})

/** A link to an instrument that takes 8 bytes at a time and reads out the given parts, the last one with END, each after `afterMs`. */
async function setUp(parts: string[], afterMs = 0) {
  const clock = new VirtualClock({ startUtcUs: 0 })
  open.push(() => clock.stop())
  const asked: string[] = []
  const core = new RpcServer(HOST, async ({ xid, procedure, args }) => {
    if (procedure === CREATE_LINK)
      return writeReply(xid, 'success', (into) => into.uint(0).uint(1).uint(0).uint(8))
    if (procedure === WRITE) {
      args.int()
      args.uint()
      args.uint()
      const flags = args.uint()
      const data = Buffer.from(args.opaque()).toString()
      asked.push(`${data}${(flags & END) === 0 ? '' : ' END'}`)
      return writeReply(xid, 'success', (into) => into.uint(0).uint(data.length))
    }
    if (procedure !== READ) return writeReply(xid, 'success', (into) => into.uint(0).uint(0))
    args.int()
    args.uint()
    const waitMs = args.uint()
    asked.push(`read for ${waitMs}`)
    const part = parts.shift()!
    await clock.sleep(afterMs)
    const reason = parts.length === 0 ? READ_END : 0
    return writeReply(xid, 'success', (into) => into.uint(0).uint(reason).opaque(Buffer.from(part)))
  })
  await core.open(0)
  open.push(() => core.close())
  const mapper = new PortMapper(HOST, [{ ...CORE, protocol: PORTMAP.tcp, port: core.port }])
  await mapper.open(0)
  open.push(() => mapper.close())
  const heard: string[] = []
  const ended = Promise.withResolvers<void>()
  const wire = await vxi11Connect(
    {
      ...{ host: HOST, portmapper: mapper.port, device: 'inst0', shared: true, interrupts: false },
      ...{ terminator: '\n', connectMs: 1000, owner: 'x' },
    },
    clock,
  )(
    {
      data: (chunk, isLast) => {
        heard.push(Buffer.from(chunk).toString())
        if (isLast === true) ended.resolve()
      },
      closed: ({ code }) => void heard.push(`closed: ${code}`),
      note: (words) => void heard.push(words),
      serviceRequest: () => undefined,
    },
    new AbortController().signal,
  )
  open.push(() => wire.destroy())
  return { clock, wire, heard, asked, ended: ended.promise }
}

describe('a message over VXI-11', () => {
  it('longer than the instrument takes at once ends with its last part, and with no other', async () => {
    const { wire, asked, heard, ended } = await setUp(['1\n'])
    wire.write('SENSE:CURRENT 1\n')
    wire.write('SENSE:CURRENT?\n', 1000)
    await ended
    expect(asked).toEqual(['SENSE:CU', 'RRENT 1\n END', 'SENSE:CU', 'RRENT?\n END', 'read for 1000'])
    expect(heard.join('')).toBe('1\n')
  })

  it('in several parts is waited for no longer in all than one in one part', async () => {
    const { wire, asked, heard, ended } = await setUp(['100.', '02', '5\n'], 300)
    wire.write('R?\n', 1000)
    await ended
    expect(heard.join('')).toBe('100.025\n')
    expect(asked).toEqual(['R?\n END', 'read for 1000', 'read for 700', 'read for 400'])
  })

  it('that never ends is given up when its time is over', async () => {
    const { clock, wire, asked, heard } = await setUp(
      Array.from({ length: 100 }, () => 'x'),
      300,
    )
    wire.write('R?\n', 1000)
    await clock.sleep(20_000)
    expect(heard.join('')).toBe('xxxx')
    expect(asked).toHaveLength(1 + 4)
  })
})
