import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Framer, type Framing } from '../../../drivers/link/framer.ts'

const LINES: Framing = { end: { kind: 'terminator', text: '\r\n' }, maxBytes: 40, tokens: [], blocks: false }

/** Pushes bytes cut at the given places; what came out, in order. */
function frames(framing: Framing, bytes: Buffer, cuts: readonly number[] = []): string[] {
  const out: string[] = []
  const framer = new Framer(framing, {
    frame: (text, token) => out.push(token ? `token ${text}` : text),
    overflow: () => out.push('OVERFLOW'),
  })
  const places = [0, ...cuts.map((cut) => cut % (bytes.length + 1)).sort((a, b) => a - b), bytes.length]
  for (let i = 1; i < places.length; i++) framer.push(bytes.subarray(places[i - 1], places[i]))
  return out
}

const framings = fc.record({
  end: fc.oneof(
    fc.constantFrom('\n', '\r\n', '\r', '\x03', ';;').map((text) => ({ kind: 'terminator', text }) as const),
    fc.integer({ min: 1, max: 12 }).map((bytes) => ({ kind: 'length', bytes }) as const),
  ),
  maxBytes: fc.integer({ min: 16, max: 64 }),
  tokens: fc.constantFrom<readonly string[]>([], ['>'], ['\x06', '\x15'], ['OK> ']),
  blocks: fc.boolean(),
})
/** Bytes rich in what matters: terminators, prompts, block headers. */
const streams = fc
  .array(
    fc.oneof(
      fc.constantFrom(
        '\n',
        '\r\n',
        '\r',
        '\x03',
        ';',
        ';;',
        '>',
        'OK> ',
        '\x06',
        '#',
        '#15',
        '#210',
        '#9',
        '1.25',
        'V',
        '\0',
        '\xff',
      ),
      fc.string({ maxLength: 50 }),
    ),
    { maxLength: 30 },
  )
  .map((parts) => Buffer.from(parts.join(''), 'latin1'))

describe('Framer', () => {
  it('gives the same replies however the bytes are cut', () => {
    fc.assert(
      fc.property(framings, streams, fc.array(fc.nat(), { maxLength: 20 }), (framing, bytes, cuts) => {
        const everywhere = Array.from({ length: bytes.length }, (_, i) => i)
        const whole = frames(framing, bytes)
        expect(frames(framing, bytes, cuts)).toEqual(whole)
        expect(frames(framing, bytes, everywhere)).toEqual(whole)
      }),
      { numRuns: 10_000 },
    )
  })

  it('gives back what was sent, line by line', () => {
    const line = fc.stringMatching(/^[ -~]{1,40}$/)
    fc.assert(
      fc.property(fc.array(line), fc.array(fc.nat()), (lines, cuts) => {
        const bytes = Buffer.from(lines.map((each) => `${each}\r\n`).join(''), 'latin1')
        expect(frames(LINES, bytes, cuts)).toEqual(lines)
      }),
      { numRuns: 2000 },
    )
  })

  it('keeps a terminator inside a definite block', () => {
    const framing: Framing = { ...LINES, end: { kind: 'terminator', text: '\n' }, blocks: true }
    expect(frames(framing, Buffer.from('#15a\nb\nc\n1.5\n'))).toEqual(['#15a\nb\nc', '1.5'])
    expect(frames(framing, Buffer.from('#0a\nb\n'))).toEqual(['#0a', 'b'])
  })

  it('refuses a block that announces more than the cap, and goes on after the next terminator', () => {
    const framing: Framing = { ...LINES, end: { kind: 'terminator', text: '\n' }, blocks: true }
    expect(frames(framing, Buffer.from('#9999999999junk\n1.5\n'))).toEqual(['OVERFLOW', '1.5'])
  })

  it('reports an over-long reply once, drops it and reads the next one', () => {
    const bytes = Buffer.from(`${'x'.repeat(1000)}\r\n1.5\r\n`)
    expect(frames(LINES, bytes)).toEqual(['OVERFLOW', '1.5'])
    expect(frames(LINES, Buffer.from(`${'x'.repeat(40)}\r\n`))).toEqual(['x'.repeat(40)])
    expect(frames(LINES, Buffer.from(`${'x'.repeat(41)}\r\n`))).toEqual(['OVERFLOW'])
  })

  it('swallows 10 MB without a terminator in little time and memory', () => {
    const chunk = Buffer.alloc(65_536, 0x55)
    const out: string[] = []
    const framer = new Framer(LINES, {
      frame: (text) => out.push(text),
      overflow: () => out.push('OVERFLOW'),
    })
    const before = process.memoryUsage().arrayBuffers
    const start = performance.now()
    for (let sent = 0; sent < 10_000_000; sent += chunk.length) framer.push(chunk)
    // A generous bound for a busy machine: the stock parser needed seconds for a fifth of it.
    expect(performance.now() - start).toBeLessThan(1500)
    expect(process.memoryUsage().arrayBuffers - before).toBeLessThan(4_000_000)
    framer.push(Buffer.from('\r\n1.5\r\n'))
    expect(out).toEqual(['OVERFLOW', '1.5'])
  })

  it('tells prompts and acknowledgements from replies', () => {
    const framing: Framing = { ...LINES, tokens: ['>', '\x06'] }
    expect(frames(framing, Buffer.from('ID\r\nX\r\n>\x06>1\r\n'))).toEqual([
      'ID',
      'X',
      'token >',
      'token \x06',
      'token >',
      '1',
    ])
  })

  it('hands over what is held when silence ends replies', () => {
    const out: string[] = []
    const framing: Framing = { ...LINES, end: { kind: 'silence', ms: 20 } }
    const framer = new Framer(framing, {
      frame: (text) => out.push(text),
      overflow: () => out.push('OVERFLOW'),
    })
    framer.push(Buffer.from('+1.2'))
    framer.push(Buffer.from('5'))
    expect(framer.begun).toBe(true)
    framer.flush()
    framer.flush()
    expect(out).toEqual(['+1.25'])
    expect(framer.begun).toBe(false)
  })
})
