import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import path from 'node:path'

const require = createRequire(import.meta.url)

const SUBSETS = [
  {
    file: 'latin',
    range:
      'U+0000-00FF, U+2000-206F, U+2070-209F, U+20AC, U+2122, U+2190-2193, U+2212, U+2215, U+221E, U+2264-2265',
  },
  { file: 'greek', range: 'U+0370-03FF' },
] as const

/** @font-face rules with the font in them, so that the page looks the same where it is not installed. */
export function embeddedFonts(): string {
  const folder = path.join(path.dirname(require.resolve('@fontsource/inter/package.json')), 'files')
  return [400, 600]
    .flatMap((weight) =>
      SUBSETS.map(({ file, range }) => {
        const data = readFileSync(path.join(folder, `inter-${file}-${weight}-normal.woff2`)).toString(
          'base64',
        )
        return (
          `@font-face{font-family:Inter;font-weight:${weight};font-style:normal;unicode-range:${range};` +
          `src:url(data:font/woff2;base64,${data}) format("woff2")}`
        )
      }),
    )
    .join('')
}
