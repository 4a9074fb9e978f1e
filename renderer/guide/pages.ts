/// <reference types="vite/types/importMeta.d.ts" />
/** The pages of docs/guide as they were built in, by name without what it ends in: nothing is fetched. */
const FILES = import.meta.glob<string>('../../docs/guide/*.md', {
  query: '?raw',
  import: 'default',
  eager: true,
})

/** Pictures of the guide, by their name. */
const PICTURES = import.meta.glob<string>('../../docs/guide/pictures/*.png', {
  query: '?url',
  import: 'default',
  eager: true,
})

/** Where a picture of the guide is, by how a page names it; undefined where there is none. */
export const pictureAt = (href: string): string | undefined => PICTURES[`../../docs/guide/${href}`]

/** Pages in the order in which somebody new would read them; the test of the guide knows if one is missing. */
const ORDER = [
  'first-night',
  'morning',
  'instruments',
  'budgets',
  'fixed-points',
  'corrections',
  'certificates',
  'backup',
  'people',
  'benches',
  'programs',
  'validation',
  'cautions',
] as const
export type GuideName = (typeof ORDER)[number]

export interface GuidePage {
  readonly name: GuideName
  readonly title: string
  /** Markdown without its first heading, which is the title. */
  readonly text: string
}

/** Every page of the guide. */
export const GUIDE: readonly GuidePage[] = ORDER.map((name) => {
  const whole = FILES[`../../docs/guide/${name}.md`] ?? ''
  const [head = '', ...rest] = whole.split('\n')
  return { name, title: head.replace(/^# /, ''), text: rest.join('\n') }
})

export const isGuideName = (name: string): name is GuideName => (ORDER as readonly string[]).includes(name)
