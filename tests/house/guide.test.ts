import { execFile } from 'node:child_process'
import { existsSync, readdirSync, readFileSync, statSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { promisify } from 'node:util'
import { describe, expect, it } from 'vitest'
import { ALARM_TABLE } from '../../app/contract/alarm-kinds.ts'
import { MARK_NAMES, MARKS } from '../../app/records/mark.ts'
import { RIGHTS } from '../../app/records/person.ts'
import { ENDING_WORDS, SESSION_ENDINGS } from '../../app/records/session.ts'
import { GUIDE, pictureAt } from '../../renderer/guide/pages.ts'
import { GUIDE_OF } from '../../renderer/page/places.ts'
import { hasProgram } from '../has-program.ts'
import { blocksOf } from '../host/guide-blocks.ts'

const ROOT = fileURLToPath(new URL('../../', import.meta.url))
const FOLDER = join(ROOT, 'docs/guide')
const pages = readdirSync(FOLDER).filter((name) => name.endsWith('.md'))
const textOf = (page: string) => readFileSync(join(FOLDER, page), 'utf8')

/** Cells of the rows of a page whose first cell is a name of the code. */
const rowsOf = (page: string): Map<string, string[]> =>
  new Map(
    textOf(page)
      .split('\n')
      .map((line) => /^\| `([a-z-]+)` \|(.*)\|$/.exec(line))
      .filter((match) => match !== null)
      .map(([, name, rest]) => [name!, rest!.split('|').map((cell) => cell.trim())]),
  )

describe('six in the morning', () => {
  const rows = rowsOf('morning.md')

  it('has every ending as the window says it, every alarm and every mark, and no other', () => {
    const known = [...SESSION_ENDINGS, ...Object.keys(ALARM_TABLE), ...MARK_NAMES]
    expect([...rows.keys()].sort()).toEqual([...known].sort())
    for (const ending of SESSION_ENDINGS) expect(rows.get(ending)![0]).toBe(ENDING_WORDS[ending])
  })

  it('says of each what it means and what to do, and of each mark whether the reading counts', () => {
    for (const [name, cells] of rows) for (const cell of cells) expect(cell.length, name).toBeGreaterThan(4)
    for (const mark of MARK_NAMES)
      expect(rows.get(mark)![1], mark).toBe(MARKS[mark].excludes ? 'left out' : 'counts')
  })
})

describe('the guide', () => {
  it('has every page in the window and on the list, and a page for every place', () => {
    const index = readFileSync(join(ROOT, 'docs/guide.md'), 'utf8')
    expect(GUIDE.map(({ name }) => `${name}.md`).sort()).toEqual(pages.toSorted())
    for (const page of pages) expect(index).toContain(`(guide/${page})`)
    for (const { name, title, text } of GUIDE) {
      expect(title, name).toMatch(/^\p{Lu}/u)
      expect(text.length, name).toBeGreaterThan(300)
    }
    for (const name of Object.values(GUIDE_OF)) expect(pages).toContain(`${name}.md`)
  })

  it('has its pictures built in, each with words for whoever cannot see it, and all of them small', () => {
    const named = GUIDE.flatMap(({ text }) => [...text.matchAll(/!\[([^\]]*)\]\((pictures\/[a-z]+\.png)\)/g)])
    expect(named.map(([, , file]) => file!.slice('pictures/'.length)).sort()).toEqual(
      readdirSync(join(FOLDER, 'pictures')).sort(),
    )
    for (const [, words, file] of named) {
      expect(words!.length, file).toBeGreaterThan(30)
      expect(pictureAt(file!), file).toMatch(/\.png/)
    }
    const bytes = named.reduce((sum, [, , file]) => sum + statSync(join(FOLDER, file!)).size, 0)
    expect(bytes).toBeLessThan(1_500_000)
  })

  it('leads to pages that there are, and names every right', () => {
    for (const page of [...pages.map((name) => `guide/${name}`), 'guide.md']) {
      const text = readFileSync(join(ROOT, 'docs', page), 'utf8')
      for (const [, target] of text.matchAll(/\]\(([^)#]+)\)/g))
        expect(existsSync(join(ROOT, 'docs', dirname(page), target!)), `${page}: ${target}`).toBe(true)
    }
    for (const right of RIGHTS) expect(textOf('people.md')).toContain(`| ${right} |`)
  })
})

/** Each line of a cheap block with `npx` standing for the checkout's own command, as a shell would run it. */
const commands = pages
  .filter((page) => page !== 'programs.md')
  .flatMap((page) => blocksOf(page, 'sh').flatMap((block) => block.trim().split('\n')))

const hasBash = process.platform !== 'win32' && hasProgram('bash')
if (!hasBash) console.error('skipped: the commands of the guide are run by bash, which is not installed here')

describe.skipIf(!hasBash)('the commands of the guide', () => {
  it('are there', () => expect(commands.length).toBeGreaterThan(12))

  it('run, each line of them', async () => {
    const own = `npx() { [ "$1" = stillpoint ] && shift && "${process.execPath}" "${ROOT}main/host/stillpoint.mjs" "$@"; }`
    const run = promisify(execFile)
    for (let i = 0; i < commands.length; i += 4)
      await Promise.all(
        commands
          .slice(i, i + 4)
          .map((line) => run('bash', ['-euc', `set -o pipefail\n${own}\n${line}`], { cwd: ROOT })),
      )
  }, 120_000)
})
