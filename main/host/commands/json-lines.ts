import { once } from 'node:events'
import { createReadStream } from 'node:fs'
import type { Readable, Writable } from 'node:stream'
import { TextDecoder } from 'node:util'
import { Command } from 'commander'
import { at, last } from '../../../app/base/lists.ts'

/** Answers one line; never throws, so that a bad line cannot stop those after it. */
export type AnswerLine = (line: string, number: number) => unknown

export interface JsonLinesCommand {
  readonly name: string
  readonly description: string
  /** Fields, synonyms and an example, printed after the options. */
  readonly help: string
  readonly answer: AnswerLine
}

/** One line of JSON out for each line that is not blank, in order, no faster than the reader takes them. */
export async function answerLines(input: Readable, output: Writable, answer: AnswerLine): Promise<void> {
  let closed = false
  output.on('error', () => {
    closed = true
  })
  let number = 0
  for await (const line of linesOf(input)) {
    number += 1
    if (closed) return
    if (line.trim() === '') continue
    if (!output.write(`${JSON.stringify(answer(line, number))}\n`) && !closed) {
      await Promise.race([once(output, 'drain'), once(output, 'close')]).catch(() => undefined)
    }
  }
}

/** Lines ended by LF or CR LF only: other line separators may stand inside a JSON text. */
async function* linesOf(input: Readable): AsyncGenerator<string> {
  const decoder = new TextDecoder()
  let parts: string[] = []
  for await (const chunk of input) {
    const lines = (typeof chunk === 'string' ? chunk : decoder.decode(chunk, { stream: true })).split('\n')
    for (let i = 0; i < lines.length - 1; i++) {
      parts.push(at(lines, i))
      yield parts.join('')
      parts = []
    }
    parts.push(last(lines))
  }
  const rest = parts.join('') + decoder.decode()
  if (rest !== '') yield rest
}

/** A subcommand that reads JSON Lines from a file or standard input and answers line by line. */
export function jsonLinesCommand({ name, description, help, answer }: JsonLinesCommand): Command {
  return new Command(name)
    .description(description)
    .argument('[file]', 'JSON Lines, one request a line; standard input when left out or "-"')
    .addHelpText('after', `\n${help}`)
    .action(async (file: string | undefined) => {
      const input = file === undefined || file === '-' ? process.stdin : createReadStream(file)
      await answerLines(input, process.stdout, answer)
    })
}
