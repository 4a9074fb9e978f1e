import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { bytesOf, PacketError, textOf } from '../../../app/buses/packets.ts'
import {
  readCall,
  readReply,
  recordCutter,
  withoutMark,
  writeCall,
  writeReply,
} from '../../../app/buses/rpc.ts'
import { XdrError, XdrReader, XdrWriter } from '../../../app/buses/xdr.ts'

const hex = (bytes: Uint8Array) => Buffer.from(bytes).toString('hex')

describe('XDR', () => {
  it('writes the example of a file as RFC 4506 prints it', () => {
    // RFC 4506, 7: file "sillyprog", kind EXEC (2) with interpreter "lisp", owner "john", data "(quit)".
    const into = new XdrWriter(4)
    into.text('sillyprog').uint(2).text('lisp').text('john').opaque(bytesOf('(quit)'))
    expect(hex(into.bytes())).toBe(
      '0000000973696c6c7970726f67000000' +
        '00000002000000046c697370000000046a6f686e' +
        '0000000628717569742900' +
        '00',
    )
  })

  it('reads back what it wrote, and refuses what breaks off', () => {
    fc.assert(
      fc.property(fc.nat(2 ** 32 - 1), fc.boolean(), fc.uint8Array({ maxLength: 300 }), (n, flag, bytes) => {
        const written = new XdrWriter().uint(n).bool(flag).opaque(bytes).bytes()
        const from = new XdrReader(written)
        expect([from.uint(), from.bool(), [...from.opaque()]]).toEqual([n, flag, [...bytes]])
        expect(() => from.uint()).toThrow(XdrError)
        const short = new XdrReader(written.subarray(0, written.length - 4))
        expect(() => {
          short.uint()
          short.bool()
          short.opaque()
        }).toThrow(XdrError)
      }),
    )
  })
})

describe('remote procedure calls', () => {
  it('have header, credential and verifier in the order of RFC 5531, 9, behind the mark of 11', () => {
    const call = writeCall({ xid: 7, program: 100_000, version: 2, procedure: 3 }, (into) => into.uint(99))
    expect(hex(call)).toBe(
      '8000002c' + // last fragment, 44 bytes
        '00000007' + // xid
        '00000000' + // CALL
        '00000002' + // RPC version
        '000186a0' + // program
        '00000002' + // version
        '00000003' + // procedure
        '0000000000000000' + // AUTH_NONE, no bytes
        '0000000000000000' +
        '00000063',
    )
    const back = readCall(withoutMark(call))!
    expect([back.xid, back.program, back.procedure, back.args.uint()]).toEqual([7, 100_000, 3, 99])
    const reply = readReply(withoutMark(writeReply(7, 'program-mismatch', (into) => into.uint(2).uint(2))))!
    expect([reply.xid, reply.status]).toEqual([7, 'program-mismatch'])
  })

  it('are the same however the stream was cut, and of several fragments', () => {
    const records = ['', 'a', 'bcd', 'x'.repeat(700)].map(bytesOf)
    const stream: number[] = []
    for (const record of records) {
      // The second half of each record is a fragment of its own.
      const half = record.length >> 1
      const mark = (length: number, last: boolean) => [last ? 0x80 : 0, 0, length >> 8, length & 0xff]
      stream.push(...mark(half, false), ...record.subarray(0, half))
      stream.push(...mark(record.length - half, true), ...record.subarray(half))
    }
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 1, max: 200 }), { minLength: 1 }), (sizes) => {
        const got: string[] = []
        const cutter = recordCutter((record) => got.push(textOf(record)))
        let at = 0
        for (let i = 0; at < stream.length; i++) {
          const size = sizes[i % sizes.length]!
          cutter.push(Uint8Array.from(stream.slice(at, at + size)))
          at += size
        }
        expect(got).toEqual(records.map(textOf))
        expect(cutter.begun).toBe(false)
      }),
    )
  })

  it('are refused where a record claims to be longer than any of ours', () => {
    const cutter = recordCutter(() => undefined)
    expect(() => cutter.push(Uint8Array.from([0xff, 0xff, 0xff, 0xff]))).toThrow(PacketError)
  })
})
