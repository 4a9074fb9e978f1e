import { spawnSync } from 'node:child_process'
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'

const ROOT = fileURLToPath(new URL('../../', import.meta.url))
const folder = mkdtempSync(join(tmpdir(), 'stillpoint-kind-'))

/** A copy of the program with one more kind: one file, and one row in the table. */
beforeAll(() => {
  for (const part of [
    'app',
    'renderer',
    'tests/report/fixture.ts',
    'package.json',
    'tsconfig.json',
    'tsconfig.app.json',
  ])
    cpSync(join(ROOT, part), join(folder, part), { recursive: true })
  symlinkSync(join(ROOT, 'node_modules'), join(folder, 'node_modules'), 'junction')
  const text = (name: string) => readFileSync(join(ROOT, 'tests/house/new-kind', name), 'utf8')
  writeFileSync(join(folder, 'app/kinds/carbon.ts'), text('carbon.ts.txt'))
  writeFileSync(join(folder, 'walk.ts'), text('walk.ts.txt'))
  const table = join(folder, 'app/kinds/table.ts')
  const row = readFileSync(table, 'utf8').replace('  thermistor,\n', '  thermistor,\n  carbon,\n')
  writeFileSync(table, `import { carbon } from './carbon.ts'\n${row}`)
  mkdirSync(join(folder, 'out'))
})
afterAll(() => rmSync(folder, { recursive: true, force: true }))

describe('a kind of thermometer', () => {
  it('is one file and one row, from the form of the register to the report', () => {
    const { stdout, stderr } = spawnSync(process.execPath, ['walk.ts'], { cwd: folder, encoding: 'utf8' })
    expect(stderr).not.toMatch(/Error/)
    const said = JSON.parse(stdout)
    expect(said).toMatchObject({
      problems: {},
      model: 'polynomial',
      refusal: null,
      template: 'industrial-platinum',
      named: true,
    })
    expect(said.fields).toContain('nominalOhm')
    expect(said.fields).not.toContain('construction')
    expect(said.fields).not.toContain('thermocoupleType')
    // A parabola through platinum between 0 and 157 degC misses by some tens of millikelvin.
    expect(said.largestResidualMk).toBeLessThan(100)
  })

  it('is asked for by the compiler in the languages of certificates, and nowhere else', () => {
    const tsc = join(ROOT, 'node_modules/@typescript/native/bin/tsc')
    const options = ['-p', 'tsconfig.app.json', '--tsBuildInfoFile', join(folder, 'out/info')]
    const { stdout } = spawnSync(process.execPath, [tsc, ...options], { cwd: folder, encoding: 'utf8' })
    const asked = stdout.split('\n').filter((line) => /^\S+: error /.test(line))
    expect(asked.length).toBeGreaterThan(0)
    for (const line of asked) expect(line).toMatch(/^app\/report\/certificate\/.*"kind\.carbon"/)
  })
})
