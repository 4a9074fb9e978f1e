import { describe, expect, it } from 'vitest'
import { MARKER_PATHS, MARKERS, seriesLook } from '../../../renderer/plots/palette.ts'

/** Linear RGB of '#rrggbb'. */
const linear = (hex: string) =>
  [1, 3, 5].map((i) => {
    const c = Number.parseInt(hex.slice(i, i + 2), 16) / 255
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4
  }) as [number, number, number]
const luminance = ([r, g, b]: number[]) => 0.2126 * r! + 0.7152 * g! + 0.0722 * b!
const contrast = (a: string, b: string) => {
  const [x, y] = [luminance(linear(a)), luminance(linear(b))].sort((m, n) => n - m)
  return (x! + 0.05) / (y! + 0.05)
}

describe('seriesLook', () => {
  it('stands out from the ground by at least 3 to 1 in both themes (WCAG 2.2, 1.4.11)', () => {
    for (let i = 0; i < 8; i++) {
      expect(contrast(seriesLook(i, false).colour, '#f5f3ed')).toBeGreaterThanOrEqual(3)
      expect(contrast(seriesLook(i, true).colour, '#17181a')).toBeGreaterThanOrEqual(3)
    }
  })

  it('gives 96 channels as many looks, told apart without their colour within each eight', () => {
    const looks = Array.from({ length: 96 }, (_, i) => JSON.stringify(seriesLook(i, false)))
    expect(new Set(looks).size).toBe(96)
    const shapes = Array.from({ length: 8 }, (_, i) => seriesLook(i, false)).map(
      (l) => `${l.dash}${l.marker}`,
    )
    expect(new Set(shapes).size).toBe(8)
  })

  it('can draw every marker', () => {
    expect(Object.keys(MARKER_PATHS).sort()).toEqual([...MARKERS].sort())
  })
})
