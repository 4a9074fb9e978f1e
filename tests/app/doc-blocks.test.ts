/** Every exported function of the formula folders says what its symbols are, where it comes from and what it refuses. */
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import ts from 'typescript'
import { describe, expect, it } from 'vitest'

const FOLDERS = ['app/thermometry', 'app/statistics']
const REQUIRED = ['Symbols', 'Source', 'Valid', 'Throws']
const root = join(import.meta.dirname, '..', '..')

interface Exported {
  readonly where: string
  readonly missing: readonly string[]
}

/** The exported functions of a file, declared or as constants, with what their doc blocks lack. */
function exportedFunctions(path: string, text: string): Exported[] {
  const source = ts.createSourceFile(path, text, ts.ScriptTarget.ESNext, true)
  const found: Exported[] = []
  const judge = (node: ts.Node, name: string) => {
    const blocks = (ts.getLeadingCommentRanges(text, node.getFullStart()) ?? []).map(({ pos, end }) =>
      text.slice(pos, end),
    )
    const doc = blocks.findLast((block) => block.startsWith('/**')) ?? ''
    const missing = REQUIRED.filter((word) => !new RegExp(`^\\s*\\*\\s+${word}\\s{2,}\\S`, 'm').test(doc))
    found.push({ where: `${path} ${name}`, missing })
  }
  for (const statement of source.statements) {
    const modifiers = ts.canHaveModifiers(statement) ? (ts.getModifiers(statement) ?? []) : []
    if (!modifiers.some(({ kind }) => kind === ts.SyntaxKind.ExportKeyword)) continue
    if (ts.isFunctionDeclaration(statement)) judge(statement, statement.name?.text ?? 'default')
    if (!ts.isVariableStatement(statement)) continue
    for (const { name, initializer } of statement.declarationList.declarations) {
      if (initializer && (ts.isArrowFunction(initializer) || ts.isFunctionExpression(initializer))) {
        judge(statement, name.getText(source))
      }
    }
  }
  return found
}

function filesOf(folder: string): string[] {
  return readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.ts'))
    .map((name) => `${folder}/${name}`)
}

describe.each(FOLDERS)('exported functions of %s', (folder) => {
  const functions = filesOf(folder).flatMap((path) =>
    exportedFunctions(path, readFileSync(join(root, path), 'utf8')),
  )

  it('are found at all', () => {
    expect(functions.length).toBeGreaterThan(20)
  })

  it('state Symbols, Source, Valid and Throws', () => {
    const lacking = functions
      .filter(({ missing }) => missing.length > 0)
      .map(({ where, missing }) => `${where}: ${missing.join(', ')}`)
    expect(lacking).toEqual([])
  })
})

describe('exportedFunctions', () => {
  it('names what a doc block lacks', () => {
    const text =
      '/**\n * Half.\n *\n * Symbols  x any\n * Throws   nothing\n */\nexport function half(x: number) { return x / 2 }\n'
    expect(exportedFunctions('half.ts', text)).toEqual([
      { where: 'half.ts half', missing: ['Source', 'Valid'] },
    ])
  })

  it('sees functions that are constants', () => {
    expect(exportedFunctions('a.ts', 'export const twice = (x: number) => 2 * x\n')[0]!.missing).toEqual(
      REQUIRED,
    )
  })

  it('leaves out what is not exported', () => {
    expect(exportedFunctions('a.ts', 'function own() {}\nexport const two = 2\n')).toEqual([])
  })
})
