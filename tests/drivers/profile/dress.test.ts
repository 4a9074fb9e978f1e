import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { CHECKSUM_FORMS, CHECKSUMS, checksum, printChecksum } from '../../../drivers/profile/checksum.ts'
import { dress, undress } from '../../../drivers/profile/dress.ts'
import { Profile } from '../../../drivers/profile/schema.ts'

function rules(kind: string, form: string, mark: string) {
  const shape = { framing: Profile.shape.framing, checksum: Profile.shape.checksum }
  return {
    framing: shape.framing.parse({
      send: '',
      receive: '\r',
      characters: 'latin1',
      sendPrefix: '\x02',
      receivePrefix: '\x02',
    }),
    checksum: shape.checksum.parse({ kind, form, mark }),
  }
}

describe('checksum', () => {
  // Check values of the nine bytes "123456789": from the common catalogue of CRC algorithms, from memory; sums by hand.
  it.each([
    ['xor', 0x31],
    ['sum8', 0xdd],
    ['negated-sum8', 0x23],
    ['lrc', 0x23],
    ['sum16', 0x1dd],
    ['crc8', 0xf4],
    ['crc16-modbus', 0x4b37],
    ['crc16-ccitt', 0x29b1],
  ] as const)('%s of "123456789" is %i', (kind, value) => expect(checksum(kind, '123456789')).toBe(value))
})

describe('undress', () => {
  const text = fc.stringMatching(/^[ -~]{1,40}$/)
  it('takes off what dress puts on, for every checksum and form', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...CHECKSUMS),
        fc.constantFrom(...CHECKSUM_FORMS),
        fc.constantFrom('', '*'),
        text,
        (kind, form, mark, line) => {
          const profile = rules(kind, form, mark)
          expect(undress(dress(line, profile), profile)).toEqual({ text: line })
        },
      ),
      { numRuns: 3000 },
    )
  })

  it('finds any single changed byte', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...CHECKSUMS),
        text,
        fc.nat(),
        fc.integer({ min: 1, max: 255 }),
        (kind, line, at, flip) => {
          const profile = rules(kind, 'hex-upper', '*')
          const bytes = dress(line, profile)
          const place = at % bytes.length
          const damaged =
            bytes.slice(0, place) +
            String.fromCharCode(bytes.charCodeAt(place) ^ flip) +
            bytes.slice(place + 1)
          expect(undress(damaged, profile)).not.toEqual({ text: line })
        },
      ),
      { numRuns: 3000 },
    )
  })

  it('suspects the baud rate when bytes above 126 come', () => {
    const profile = Profile.shape.framing.parse({ send: '\n', receive: '\n' })
    const result = undress('\xf8\x80\x1e', { framing: profile, checksum: undefined })
    expect('wrong' in result && result.wrong).toContain('baud rate')
  })

  it('writes a check value in as many places as its kind has', () => {
    // The sum of a NUL is 0, that of FF FF is 1FE hex, 510; one byte of it FE hex, 254.
    const printed = (kind: 'sum8' | 'sum16', bytes: string) =>
      CHECKSUM_FORMS.map((form) => printChecksum(kind, form, bytes))
    expect(printed('sum8', '\0')).toEqual(['00', '00', '000', '\0'])
    expect(printed('sum16', '\0')).toEqual(['0000', '0000', '00000', '\0\0'])
    expect(printed('sum8', '\xff\xff')).toEqual(['FE', 'fe', '254', '\xfe'])
    expect(printed('sum16', '\xff\xff')).toEqual(['01FE', '01fe', '00510', '\x01\xfe'])
  })

  it('guards only the direction that is guarded', () => {
    const both = rules('sum8', 'hex-upper', '*')
    const only = (on: 'sent' | 'received') => ({ ...both, checksum: { ...both.checksum!, on } })
    expect(dress('AB', both)).toBe('\x02AB*83')
    expect(dress('AB', only('sent'))).toBe('\x02AB*83')
    expect(dress('AB', only('received'))).toBe('\x02AB')
    expect(undress('\x02AB', only('sent'))).toEqual({ text: 'AB' })
    expect(undress('\x02AB*83', only('received'))).toEqual({ text: 'AB' })
    expect(undress('\x02AB', only('received'))).toMatchObject({ wrong: 'the check value is missing' })
    expect(undress('\x02*00', both)).toEqual({ text: '' })
    expect(undress('\x0200', both)).toMatchObject({ wrong: 'the check value is missing' })
    expect(undress('AB*83', both)).toMatchObject({ wrong: expect.stringContaining('prefix') })
  })

  it('writes the check value of Modbus low byte first', () => {
    expect(printChecksum('crc16-modbus', 'bytes', '123456789')).toBe('\x37\x4b')
  })
})
