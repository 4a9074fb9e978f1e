import { createReadStream } from 'node:fs'
import { createInterface } from 'node:readline'
import type { Readable } from 'node:stream'
import { Command } from 'commander'
import { answerLine } from '../../../app/thermometry/convert-request.ts'

/** Answers each line as it comes; waits where whoever reads the answers is slower than they are made. */
async function convertLines(input: Readable, output: NodeJS.WritableStream): Promise<void> {
  let number = 0
  for await (const line of createInterface({ input, crlfDelay: Number.POSITIVE_INFINITY })) {
    number++
    if (line.trim() === '') continue
    const answer = `${JSON.stringify(answerLine(line.replace(/^\uFEFF/, ''), number))}\n`
    if (!output.write(answer)) await new Promise<void>((resolve) => output.once('drain', resolve))
  }
}

/** `stillpoint convert [FILE]`: JSON Lines in, one JSON line out for each request. */
export function convertCommand(): Command {
  return new Command('convert')
    .description('convert between ratio, resistance, voltage and temperature, one JSON line for each request')
    .argument('[file]', 'JSON Lines file of requests; standard input when left out or -')
    .action(async (file: string | undefined, _options: unknown, command: Command) => {
      const input = file === undefined || file === '-' ? process.stdin : createReadStream(file)
      try {
        await convertLines(input, process.stdout)
      } catch (error) {
        if (!(error instanceof Error) || !('code' in error)) throw error
        if (error.code === 'EPIPE') return
        command.error(`Cannot read ${file}: ${error.message}`)
      }
    })
}
