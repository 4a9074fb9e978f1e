import { ReadlineParser } from '@serialport/parser-readline'

/** A terminator, or `any` of CR LF, LF and CR. */
export type LineEnd = '\r' | '\n' | 'any'

/**
 * Cuts a stream into lines; over-long lines come out as `undefined`, whole. The cutting itself is the stock line parser's
 * of the serial port library: the two ends of a wire must not share one cutter with one mistake. It knows one terminator
 * and no longest line, so the other terminators are made one before it and what is too long is dropped around it.
 */
export class LineCutter {
  readonly #end: LineEnd
  readonly #longest: number
  #parser: ReadlineParser
  #lines: string[] = []
  /** Characters since the last terminator. */
  #held = 0
  #tooLong = false

  constructor(end: LineEnd, longest: number) {
    this.#end = end
    this.#longest = longest
    this.#parser = this.#newParser()
  }

  clear(): void {
    this.#lines = []
    this.#held = 0
    this.#tooLong = false
    this.#parser = this.#newParser()
  }

  /** Adds what has arrived and returns the lines it completes. */
  *take(text: string): Generator<string | undefined> {
    const alike = this.#end === 'any' ? text.replace(/\r\n|\r/g, '\n') : text
    const lastEnd = alike.lastIndexOf(this.#delimiter)
    this.#held = lastEnd < 0 ? this.#held + alike.length : alike.length - lastEnd - 1
    this.#parser.write(Buffer.from(alike, 'latin1'))
    for (let line = this.#lines.shift(); line !== undefined; line = this.#lines.shift()) {
      const lost = this.#tooLong || line.length > this.#longest
      this.#tooLong = false
      yield lost ? undefined : line
    }
    if (this.#held > this.#longest) {
      this.#tooLong = true
      this.#held = 0
      this.#parser = this.#newParser()
    }
  }

  get #delimiter(): string {
    return this.#end === 'any' ? '\n' : this.#end
  }

  /** In object mode an empty line is a line too. */
  #newParser(): ReadlineParser {
    const parser = new ReadlineParser({
      delimiter: this.#delimiter,
      encoding: 'latin1',
      readableObjectMode: true,
    })
    parser.on('data', (line: string) => this.#lines.push(line))
    return parser
  }
}
