/** A change that was tried, and what came of it. */
export interface Tried {
  readonly file: string
  readonly line: number
  /** What was done, in words. */
  readonly what: string
  readonly by: 'compiler' | 'test' | 'unnoticed'
}

export const words = ({ file, line, what }: Pick<Tried, 'file' | 'line' | 'what'>): string =>
  `${file}:${line} ${what}`

/** Kinds of changes; the first that fits. */
const KINDS: readonly (readonly [kind: string, fits: RegExp])[] = [
  ['a condition that always or never holds', /^a condition/],
  ['a filter, a sort or a slice left out', /^without \./],
  ['a sign or a not left out', /^without [-!]$/],
  ['a call left out', /^without /],
  ['an empty list', /^an empty/],
  ['a number', /^[\d.]/],
  ['a limit', /^[<>]/],
  ['equal or not', /^[=!]/],
  ['arithmetic', /^[-+*/%]/],
  ['logic', /^/],
]

const kindOf = ({ what }: Tried) => KINDS.find(([, fits]) => fits.test(what))![0]
const roomOf = ({ file }: Tried) => file.split('/').slice(0, 2).join('/')

function table(head: string, tried: readonly Tried[], groupOf: (one: Tried) => string): string[] {
  const row = (name: string, own: readonly Tried[]) => {
    const count = (outcome: Tried['by']) => own.filter(({ by }) => by === outcome).length
    return `| ${name} | ${own.length} | ${count('compiler')} | ${count('test')} | ${count('unnoticed')} |`
  }
  const groups = Map.groupBy(tried, groupOf)
  return [
    `| ${head} | changed | refused by the compiler | noticed by a test | unnoticed |`,
    '|---|---|---|---|---|',
    ...[...groups].sort(([a], [b]) => a.localeCompare(b)).map(([name, own]) => row(name, own)),
    row('all', tried),
    '',
  ]
}

/** What came of a run as Markdown: by room, by kind, and what nothing noticed. */
export function tablesOf(seed: number, tried: readonly Tried[]): string {
  const unnoticed = tried.filter(({ by }) => by === 'unnoticed')
  return [
    `# Changes at random, seed ${seed}`,
    '',
    `Noticed: ${tried.length - unnoticed.length} of ${tried.length}.`,
    '',
    ...table('room', tried, roomOf),
    ...table('kind of change', tried, kindOf),
    'Unnoticed:',
    '',
    ...unnoticed.map((one) => `- ${words(one)}`).sort(),
    '',
  ].join('\n')
}
