import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import ts from 'typescript'

/** The compiler as `npm test` asks it, kept at hand: whether it would let a changed file pass. */
export class Compiler {
  readonly #root: string
  readonly #texts = new Map<string, { text: string; version: number }>()
  readonly #service: ts.LanguageService

  constructor(root: string) {
    this.#root = root
    const path = join(root, 'tsconfig.node.json')
    const { fileNames, options } = ts.parseJsonConfigFileContent(
      ts.readConfigFile(path, ts.sys.readFile).config,
      ts.sys,
      root,
    )
    this.#service = ts.createLanguageService({
      getCompilationSettings: () => options,
      getScriptFileNames: () => fileNames,
      getScriptVersion: (file) => String(this.#texts.get(file)?.version ?? 0),
      getScriptSnapshot: (file) => {
        const text = this.#texts.get(file)?.text ?? ts.sys.readFile(file)
        return text === undefined ? undefined : ts.ScriptSnapshot.fromString(text)
      },
      getCurrentDirectory: () => root,
      getDefaultLibFileName: ts.getDefaultLibFilePath,
      fileExists: ts.sys.fileExists,
      readFile: ts.sys.readFile,
      directoryExists: ts.sys.directoryExists,
      getDirectories: ts.sys.getDirectories,
    })
  }

  /** Whether the file with this text compiles; what its importers make of it is left to the tests. */
  allows(file: string, text: string): boolean {
    const path = join(this.#root, file)
    this.#set(path, text)
    try {
      return (
        this.#service.getSyntacticDiagnostics(path).length === 0 &&
        this.#service.getSemanticDiagnostics(path).length === 0
      )
    } finally {
      this.#set(path, readFileSync(path, 'utf8'))
    }
  }

  #set(path: string, text: string): void {
    this.#texts.set(path, { text, version: (this.#texts.get(path)?.version ?? 0) + 1 })
  }
}
