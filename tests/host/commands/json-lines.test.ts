import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PassThrough, Readable } from 'node:stream'
import { describe, expect, it } from 'vitest'
import { budgetCommand } from '../../../main/host/commands/budget.ts'
import { describeCommand } from '../../../main/host/commands/describe.ts'
import { fitCommand } from '../../../main/host/commands/fit.ts'
import { answerLines, jsonLinesCommand } from '../../../main/host/commands/json-lines.ts'

async function through(
  chunks: readonly (string | Buffer)[],
  answer = (line: string, number: number): unknown => ({ line, number }),
) {
  const output = new PassThrough()
  const done = answerLines(Readable.from(chunks), output, answer).then(() => output.end())
  let text = ''
  for await (const chunk of output) text += String(chunk)
  await done
  return text
}

describe('answerLines', () => {
  it('answers each line in order, whatever the chunks, and leaves blank lines out', async () => {
    const text = 'eins\n\nzwei\r\ndrei'
    const whole = await through([text])
    expect(whole).toBe(
      '{"line":"eins","number":1}\n{"line":"zwei\\r","number":3}\n{"line":"drei","number":4}\n',
    )
    expect(await through([...text].map((letter) => letter))).toBe(whole)
  })
  it('keeps characters that are cut in two by a chunk', async () => {
    const bytes = Buffer.from('Ω°\n')
    expect(await through([bytes.subarray(0, 1), bytes.subarray(1, 3), bytes.subarray(3)])).toBe(
      '{"line":"Ω°","number":1}\n',
    )
  })
  it('waits for a slow reader', async () => {
    const lines = Array.from({ length: 3000 }, (_, i) => `${i}\n`)
    const text = await through(lines, (line) => line.repeat(20))
    expect(text.split('\n')).toHaveLength(3001)
  })
  it('ends quietly when the reader goes away', async () => {
    const output = new PassThrough()
    output.destroy(new Error('gone'))
    await expect(answerLines(Readable.from(['a\n', 'b\n']), output, (line) => line)).resolves.toBeUndefined()
  })
})

describe('jsonLinesCommand', () => {
  it('reads a file and says what is wrong with one that is not there', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'lines-'))
    const file = join(folder, 'requests.jsonl')
    writeFileSync(file, '1\n2\n')
    const seen: string[] = []
    const command = () =>
      jsonLinesCommand({ name: 'x', description: 'x', help: 'x', answer: (line) => seen.push(line) && {} })
    const written = process.stdout.write
    process.stdout.write = () => true
    try {
      await command().parseAsync([file], { from: 'user' })
    } finally {
      process.stdout.write = written
    }
    expect(seen).toEqual(['1', '2'])
    rmSync(folder, { recursive: true })
    await expect(command().parseAsync([file], { from: 'user' })).rejects.toThrow('no such file')
  })
})

describe('describeCommand, fitCommand and budgetCommand', () => {
  it.each([
    ['describe', describeCommand(), ['nEffective', 'driftUncertainty', 'allan']],
    ['fit', fitCommand(), ['callendar-van-dusen', 'covariance', 'degreesOfFreedom']],
    ['budget', budgetCommand(), ['jcgm100', 'jcgm101', 'trapezoidal', 'correlations']],
  ])('say in their help what %s takes and gives', (name, command, words) => {
    expect(command.name()).toBe(name)
    let help = ''
    command.configureOutput({ writeOut: (text) => (help += text) }).outputHelp()
    for (const word of words) expect(help).toContain(word)
  })
})
