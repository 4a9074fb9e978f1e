import { readFileSync } from 'node:fs'
import { join } from 'node:path'

const guide = join(import.meta.dirname, '../../docs/guide')

/** Blocks of code of one language on a page of the guide, in their order. */
export const blocksOf = (page: string, language: string): string[] =>
  [
    ...readFileSync(join(guide, page), 'utf8').matchAll(
      new RegExp(`^\`\`\`${language}\\n(.*?)^\`\`\``, 'gms'),
    ),
  ].map(([, code]) => code!)
