import { execFile } from 'node:child_process'
import { createHash } from 'node:crypto'
import {
  cpSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { ValidationRecord } from '../../app/validation/record.ts'

const root = join(import.meta.dirname, '../..')
const folder = mkdtempSync(join(tmpdir(), 'stillpoint-validate-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

interface Ended {
  status: number
  out: string
  record: ValidationRecord
  files: string[]
}

/** The whole command in a folder of the program. */
function validateIn(program: string, out: string): Promise<Ended> {
  const command = [join(program, 'main/host/stillpoint.mjs'), 'validate', '--out', out]
  return new Promise((resolve, reject) => {
    execFile(process.execPath, command, { timeout: 240_000 }, (fault, stdout, stderr) => {
      try {
        const files = readdirSync(out).sort()
        const json = files.find((name) => name.endsWith('.json'))!
        const record = JSON.parse(readFileSync(join(out, json), 'utf8')) as ValidationRecord
        resolve({ status: Number(fault?.code ?? 0), out: stdout, record, files })
      } catch (broken) {
        reject(new Error(`${stderr}\n${stdout}`, { cause: broken }))
      }
    })
  })
}

/** A copy of the program as it is installed, without tests and docs, in which one text of one file is another. */
function copyWith(name: string, file: string, from: string, to: string): string {
  const copy = join(folder, name)
  mkdirSync(copy)
  for (const part of ['app', 'drivers', 'main', 'simulator', 'package.json', 'package-lock.json'])
    cpSync(join(root, part), join(copy, part), { recursive: true })
  symlinkSync(join(root, 'node_modules'), join(copy, 'node_modules'), 'dir')
  const text = readFileSync(join(copy, file), 'utf8')
  expect(text.split(from)).toHaveLength(2)
  writeFileSync(join(copy, file), text.replace(from, to))
  return copy
}

describe('stillpoint validate', () => {
  let good: Ended
  let wrong: Ended
  beforeAll(async () => {
    // The last digit but one of one constant of the reference function: 1e-8, some microkelvin.
    const copy = copyWith('wrong', 'app/thermometry/its90-reference.ts', '(1.64650916 +', '(1.64650917 +')
    ;[good, wrong] = await Promise.all([
      validateIn(root, join(folder, 'good-record')),
      validateIn(copy, join(folder, 'wrong-record')),
    ])
  }, 300_000)

  it('passes, ends with 0 and writes a dated record as HTML, JSON and PDF', () => {
    expect(good.status, good.out).toBe(0)
    expect(good.files.map((name) => name.replace(/-\d{8}-\d{4}\./, '-DATE.'))).toEqual([
      'validation-0.1.0-DATE.html',
      'validation-0.1.0-DATE.json',
      'validation-0.1.0-DATE.pdf',
    ])
    expect(good.out).toMatch(/passed: \d{3} checks with \d{4} figures/)
    expect(good.record.verdict).toBe('passed')
  })

  it('records what was installed, and every check with source, expected, got, difference and limit', () => {
    const { program, sources, checks, notChecked } = good.record
    expect(program.version).toBe('0.1.0')
    expect(program.fingerprint).toMatch(/^[0-9a-f]{64}$/)
    expect(program.files.length).toBeGreaterThan(500)
    const own = program.files.find(({ path }) => path === 'app/thermometry/its90.ts')!
    expect(
      createHash('sha256')
        .update(readFileSync(join(root, own.path)))
        .digest('hex'),
    ).toBe(own.sha256)
    expect(program.packages).toContainEqual({ name: 'decimal.js', version: '10.6.0' })
    expect(checks.length).toBeGreaterThan(500)
    for (const { publication, figures } of checks) {
      expect(sources.map(({ id }) => id)).toContain(publication)
      for (const figure of figures)
        expect(Object.keys(figure).sort()).toEqual(
          ['difference', 'expected', 'got', 'limit', 'share', 'unit', 'what', 'within'].sort(),
        )
    }
    expect(notChecked.length).toBeGreaterThan(0)
    expect(checks.filter(({ publication }) => publication === 'lab-night').length).toBeGreaterThanOrEqual(5)
  })

  it('prints verdict, acceptance, what was validated and what was not checked', () => {
    const html = readFileSync(join(folder, 'good-record', good.files[0]!), 'utf8')
    for (const words of ['Passed: ', 'Accepted by', 'For the intended use', good.record.program.fingerprint])
      expect(html).toContain(words)
    expect(html).toContain('Metrologia 27')
    expect(html).toContain('PiDigits')
    const pdf = readFileSync(join(folder, 'good-record', good.files[2]!))
    expect(pdf.subarray(0, 5).toString()).toBe('%PDF-')
  })

  it('fails over one wrong digit of one constant, ends with 1 and names the figures', () => {
    expect(wrong.status).toBe(1)
    expect(wrong.record.verdict).toBe('failed')
    expect(wrong.record.program.fingerprint).not.toBe(good.record.program.fingerprint)
    const failed = wrong.record.checks.filter(({ passed }) => !passed)
    expect(failed.length).toBeGreaterThan(10)
    expect(new Set(failed.map(({ publication }) => publication))).toContain('its90-reference-functions')
    expect(wrong.out).toContain('FAILED')
    expect(wrong.out).toMatch(/not passed: its90-reference-functions: /)
    const html = readFileSync(join(folder, 'wrong-record', wrong.files[0]!), 'utf8')
    expect(html).toContain('Do not use this program for results until it is known why')
    expect(html).toContain('NOT PASSED: ')
  })
})
