/** A path into a JSON document, as zod issues carry it. */
export type JsonPath = readonly PropertyKey[]

/** Where the values of a JSON document stand: the line (from 1) of a path, or of the nearest part around it. */
export class JsonLines {
  readonly #lines = new Map<string, number>()

  constructor(text: string) {
    const scanner = new Scanner(text, (path, line) => this.#lines.set(keyOf(path), line))
    scanner.scan()
  }

  lineOf(path: JsonPath): number {
    for (let length = path.length; length >= 0; length--) {
      const line = this.#lines.get(keyOf(path.slice(0, length)))
      if (line !== undefined) return line
    }
    return 1
  }
}

/** The line and column (from 1) of a character offset. */
export function placeOf(text: string, offset: number): { line: number; column: number } {
  const before = text.slice(0, offset)
  const line = before.split('\n').length
  return { line, column: offset - before.lastIndexOf('\n') }
}

function keyOf(path: JsonPath): string {
  return JSON.stringify(path.map(String))
}

/** Walks a document that JSON.parse has accepted, so it needs no error paths of its own. */
class Scanner {
  readonly #text: string
  readonly #found: (path: JsonPath, line: number) => void
  #at = 0
  #line = 1

  constructor(text: string, found: (path: JsonPath, line: number) => void) {
    this.#text = text
    this.#found = found
  }

  scan(): void {
    this.#value([])
  }

  #value(path: JsonPath, line?: number): void {
    this.#blanks()
    this.#found(path, line ?? this.#line)
    const first = this.#text[this.#at]
    if (first === '{') this.#members(path, '}')
    else if (first === '[') this.#members(path, ']')
    else if (first === '"') this.#string()
    else while (this.#at < this.#text.length && !/[\s,\]}]/.test(this.#text[this.#at]!)) this.#at++
  }

  #members(path: JsonPath, close: '}' | ']'): void {
    this.#at++
    for (let index = 0; ; index++) {
      this.#blanks()
      if (this.#text[this.#at] === close || this.#at >= this.#text.length) break
      if (close === ']') this.#value([...path, index])
      else {
        const line = this.#line
        const name = this.#string()
        this.#blanks()
        this.#at++ // the colon
        this.#value([...path, name], line)
      }
      this.#blanks()
      if (this.#text[this.#at] === ',') this.#at++
    }
    this.#at++
  }

  #string(): string {
    const start = this.#at
    this.#at++
    while (this.#at < this.#text.length && this.#text[this.#at] !== '"')
      this.#at += this.#text[this.#at] === '\\' ? 2 : 1
    this.#at++
    return JSON.parse(this.#text.slice(start, this.#at)) as string
  }

  #blanks(): void {
    while (this.#at < this.#text.length && /\s/.test(this.#text[this.#at]!)) {
      if (this.#text[this.#at] === '\n') this.#line++
      this.#at++
    }
  }
}
