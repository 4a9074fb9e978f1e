import { describe, expect, it } from 'vitest'
import { drawLine } from '../../../renderer/plots/crowd.ts'

const WIDTH = 8
const HEIGHT = 5

/** Draws buckets one pixel wide onto 8 x 5 pixels whose rows stand for 5 to 1 from the top. */
function drawn(values: ([number, number] | undefined)[], gaps: number[] = []): string[] {
  const pixels = new Uint32Array(WIDTH * HEIGHT)
  const bars = {
    low: Float64Array.from(values, (v) => v?.[0] ?? Number.NaN),
    high: Float64Array.from(values, (v) => v?.[1] ?? Number.NaN),
    last: Float64Array.from(values, (v) => v?.[1] ?? Number.NaN),
    gap: Uint8Array.from(values, (_, i) => (gaps.includes(i) ? 1 : 0)),
  }
  drawLine({ pixels, width: WIDTH, height: HEIGHT }, { bars, colour: '#102030', min: 0, max: 5 }, 0, 1, 1)
  const rows: string[] = []
  for (let y = 0; y < HEIGHT; y++)
    rows.push([...pixels.subarray(y * WIDTH, (y + 1) * WIDTH)].map((p) => (p === 0 ? '.' : '#')).join(''))
  return rows
}

describe('drawLine', () => {
  it('joins a bucket to the one before by an upright', () => {
    expect(drawn([[1, 1], [4, 4], undefined])).toEqual([
      '........',
      '.#......',
      '.#......',
      '.#......',
      '##......',
    ])
  })

  it('stays level over empty buckets and breaks off at a gap', () => {
    expect(drawn([[2, 2], undefined, undefined, [2, 2], undefined, undefined, [3, 3]], [6])).toEqual([
      '........',
      '........',
      '......#.',
      '####....',
      '........',
    ])
  })

  it('paints in the given colour, opaque', () => {
    const pixels = new Uint32Array(1)
    const one = Float64Array.of(1)
    drawLine(
      { pixels, width: 1, height: 1 },
      { bars: { low: one, high: one, last: one, gap: new Uint8Array(1) }, colour: '#102030', min: 0, max: 1 },
      0,
      1,
      1,
    )
    expect([...new Uint8Array(pixels.buffer)]).toEqual([0x10, 0x20, 0x30, 0xff])
  })

  it('keeps inside the picture whatever the values', () => {
    for (const row of drawn([
      [-100, 100],
      [1e9, 1e9],
      [-5, -4],
    ]))
      expect(row).toHaveLength(WIDTH)
  })
})
