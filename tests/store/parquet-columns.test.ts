import { describe, expect, it } from 'vitest'
import { TextColumn } from '../../main/store/export/parquet-columns.ts'

/** The values as parquet-format's Encodings.md has PLAIN byte arrays: four bytes of length, little-endian, then the text. */
function plain(texts: readonly string[]): Buffer {
  return Buffer.concat(
    texts.flatMap((text) => {
      const bytes = Buffer.from(text, 'utf8')
      const length = Buffer.alloc(4)
      length.writeUInt32LE(bytes.length)
      return [length, bytes]
    }),
  )
}

describe('TextColumn', () => {
  it.each([
    ['just below the first room', ['a'.repeat(65_000), 'b'.repeat(532), 'c']],
    ['far above it at once', ['Ω'.repeat(200_000), 'after']],
    ['letters of three bytes at the end of the room', ['x'.repeat(65_500), '√'.repeat(11), '√']],
    ['one after the other', Array.from({ length: 3000 }, (_, i) => `reading ${i} µV`.repeat(i % 5))],
  ])('keeps texts whole that need more room than there was: %s', (_, texts) => {
    const column = new TextColumn('raw', texts.length, true)
    for (const text of texts) column.add(text)
    expect(Buffer.from(column.take().values).equals(plain(texts))).toBe(true)
  })
})
