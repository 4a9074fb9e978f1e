import { spawn } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { convertCommand } from '../../../main/host/commands/convert.ts'

const cli = join(import.meta.dirname, '..', '..', '..', 'main', 'host', 'stillpoint.mjs')
const folder = mkdtempSync(join(tmpdir(), 'stillpoint-convert-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

function run(
  args: string[],
  input?: string,
): Promise<{ code: number | null; lines: Record<string, unknown>[] }> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [cli, 'convert', ...args], { stdio: ['pipe', 'pipe', 'inherit'] })
    let text = ''
    child.stdout.on('data', (chunk) => {
      text += chunk
    })
    child.on('error', reject)
    child.on('close', (code) =>
      resolve({
        code,
        lines: text
          .split('\n')
          .filter((line) => line !== '')
          .map((line) => JSON.parse(line)),
      }),
    )
    child.stdin.end(input)
  })
}

const good = (id: number) =>
  JSON.stringify({
    id,
    from: 'resistance',
    to: 'temperature',
    value: 138.5055,
    conversion: { kind: 'iec60751' },
  })

describe('convertCommand', () => {
  it('answers every line of standard input in order, bad ones too, and ends with 0', async () => {
    const { code, lines } = await run([], `${good(1)}\nnot json\n\n{"id":"x"}\r\n${good(2)}`)
    expect(code).toBe(0)
    expect(lines.map(({ id }) => id)).toEqual([1, null, 'x', 2])
    expect(lines[0]).toEqual({ id: 1, value: expect.closeTo(100, 9), unit: 'degC', marks: [] })
    expect(lines[1]!.error).toMatch(/Line 2/)
    expect(lines[3]!.value).toBe(lines[0]!.value)
  })

  it('reads a file, and more of it than a pipe holds', async () => {
    const file = join(folder, 'requests.jsonl')
    writeFileSync(file, Array.from({ length: 20_000 }, (_, i) => good(i)).join('\n'))
    const { code, lines } = await run([file])
    expect(code).toBe(0)
    expect(lines).toHaveLength(20_000)
    expect(lines.at(-1)!.id).toBe(19_999)
  })

  it('documents every kind of conversion in its help', () => {
    let help = ''
    convertCommand()
      .configureOutput({
        writeOut: (text) => {
          help += text
        },
      })
      .outputHelp()
    for (const kind of [
      'its90',
      'iec60751',
      'callendar-van-dusen',
      'steinhart-hart',
      'beta',
      'thermocouple',
      'polynomial',
      'table',
    ]) {
      expect(help).toContain(`"kind":"${kind}"`)
    }
  })
})
