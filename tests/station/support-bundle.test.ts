import { chmodSync, mkdirSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { gunzipSync } from 'node:zlib'
import { expect, it } from 'vitest'
import { logFolder } from '../../main/station/log.ts'
import { bundleOfFolder } from '../../main/station/support-bundle.ts'
import { temporaryFolder } from '../store/example.ts'

interface Bundle {
  program: string
  there: boolean
  files: { name: string; bytes: number | null; mode: string }[]
  station: unknown
  log: string[]
  system: { memoryMb: number; freeMb: number }
}

const bundleOf = (folder: string) =>
  JSON.parse(gunzipSync(bundleOfFolder(folder, 'Stillpoint 0')).toString('utf8')) as Bundle

it('says of a folder that is not there no more than that', () => {
  const folder = join(temporaryFolder(), 'gone')
  const bundle = bundleOf(folder)
  expect(bundle).toMatchObject({ program: 'Stillpoint 0', there: false, files: [], log: [] })
  expect(bundle).not.toHaveProperty('station')
  // Memory in MB: a computer that runs this has more than 256 of them and less than 64 TB.
  expect(bundle.system.memoryMb).toBeGreaterThan(256)
  expect(bundle.system.memoryMb).toBeLessThan(64e6)
  expect(bundle.system.freeMb).toBeLessThanOrEqual(bundle.system.memoryMb)
})

it.skipIf(process.platform === 'win32')('lists a link that leads nowhere as well', () => {
  const folder = temporaryFolder()
  symlinkSync(join(folder, 'gone'), join(folder, 'leads-nowhere'))
  expect(bundleOf(folder).files).toMatchObject([{ name: 'leads-nowhere', bytes: null }])
})

it('lists what lies in a folder with sizes and rights, and the end of the log in the order it was written', () => {
  const folder = temporaryFolder()
  writeFileSync(join(folder, 'notes.txt'), 'four')
  chmodSync(join(folder, 'notes.txt'), 0o640)
  const logs = logFolder(folder)
  mkdirSync(logs, { recursive: true })
  const lines = (file: number, count: number) =>
    `${Array.from({ length: count }, (_, i) => `file ${file} line ${i} password=hush`).join('\n')}\n`
  for (const file of [10, 2, 9]) writeFileSync(join(logs, `station.${file}.log`), lines(file, 2_000))
  writeFileSync(join(logs, 'other.txt'), 'not a log')
  const bundle = bundleOf(folder)
  expect(bundle.there).toBe(true)
  expect(bundle.files.find(({ name }) => name === 'notes.txt')).toMatchObject({
    bytes: 4,
    ...(process.platform !== 'win32' && { mode: '640' }),
  })
  expect(bundle.files.find(({ bytes }) => bytes === null)).toBeDefined()
  expect(bundle.station).toMatch(/station\.db/)
  // The last 5000 lines of three files of 2000: file 9 comes after file 2, and 10 after 9.
  expect(bundle.log).toHaveLength(5_000)
  expect(bundle.log[0]).toBe('file 2 line 1000 password=(left out)')
  expect(bundle.log[1_000]).toMatch(/^file 9 line 0 /)
  expect(bundle.log.at(-1)).toMatch(/^file 10 line 1999 /)
  rmSync(logs, { recursive: true })
  expect(bundleOf(folder).log).toEqual([])
})
