/** A path into a JSON document, as zod issues carry it. */
export type JsonPath = readonly PropertyKey[]

/** A place in a text, both counted from 1. */
export interface Place {
  readonly line: number
  readonly column: number
}

/** Where the values of a JSON document stand: the place of a path, or of the nearest part around it. */
export class JsonLines {
  readonly #places = new Map<string, Place>()

  constructor(text: string) {
    const scanner = new Scanner(text, (path, place) => this.#places.set(keyOf(path), place))
    scanner.scan()
  }

  placeOf(path: JsonPath): Place {
    for (let length = path.length; length >= 0; length--) {
      const place = this.#places.get(keyOf(path.slice(0, length)))
      if (place !== undefined) return place
    }
    return { line: 1, column: 1 }
  }
}

/** The line and column (from 1) of a character offset. */
export function placeOf(text: string, offset: number): Place {
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
  readonly #found: (path: JsonPath, place: Place) => void
  #at = 0
  #line = 1
  #lineStart = 0

  constructor(text: string, found: (path: JsonPath, place: Place) => void) {
    this.#text = text
    this.#found = found
  }

  scan(): void {
    this.#value([])
  }

  #here(): Place {
    return { line: this.#line, column: this.#at - this.#lineStart + 1 }
  }

  #value(path: JsonPath, place?: Place): void {
    this.#blanks()
    this.#found(path, place ?? this.#here())
    const first = this.#text[this.#at]
    if (first === '{') this.#members(path, '}')
    else if (first === '[') this.#members(path, ']')
    else if (first === '"') this.#string()
    else while (this.#at < this.#text.length && !/[\s,\]}]/.test(this.#text.charAt(this.#at))) this.#at++
  }

  #members(path: JsonPath, close: '}' | ']'): void {
    this.#at++
    for (let index = 0; ; index++) {
      this.#blanks()
      if (this.#text[this.#at] === close || this.#at >= this.#text.length) break
      if (close === ']') this.#value([...path, index])
      else {
        const place = this.#here()
        const name = this.#string()
        this.#blanks()
        this.#at++ // the colon
        this.#value([...path, name], place)
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
    while (this.#at < this.#text.length && /\s/.test(this.#text.charAt(this.#at))) {
      if (this.#text[this.#at] === '\n') {
        this.#line++
        this.#lineStart = this.#at + 1
      }
      this.#at++
    }
  }
}
